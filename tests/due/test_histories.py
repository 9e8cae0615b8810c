"""Short histories, each with dates reckoned by hand from the rules; no clock of ours is used.

Rates of growth in the bay, days at 20 °C a day, 2^((T - 20) / 10): April 0.500, May 0.616,
July 0.871, August 0.933, September 0.812, October 0.660, November 0.536, December 0.467.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path

import pytest

from upkeep.model import Task
from upkeep.records import load_fleet

Story = Callable[..., Mapping[str, Task]]


def part(name: str, kind: str, installed: str = "2026-03-01", **values: object) -> str:
    rows = "".join(f"{key} = {value}\n" for key, value in values.items())
    return (
        f'[[component]]\nid = "{name}"\nkind = "{kind}"\nlocation = "aft"\n'
        f"installed = {installed}\n{rows}\n"
    )


def done(task: str, *days: str) -> str:
    return "".join(f'[[last_done]]\ntask = "{task}"\non = {day}\n\n' for day in days)


def ashore(first: str, end: str) -> str:
    return f"[[ashore]]\nfrom = {first}\nto = {end}\n\n"


def hours(*readings: tuple[str, float]) -> str:
    return "".join(
        f'[[reading]]\ncomponent = "engine"\nname = "engine_h"\non = {day}\nvalue = {value}\n\n'
        for day, value in readings
    )


def charge(day: str, value: float) -> str:
    return f'[[reading]]\ncomponent = "bank"\nname = "charge"\non = {day}\nvalue = {value}\n\n'


def limit(task: str, **limits: object) -> str:
    rows = "".join(f"{key} = {value}\n" for key, value in limits.items())
    return f'[[limit]]\ntask = "{task}"\nsource = "her own book"\n{rows}\n'


def allowed(task: Task) -> dict[str, date | None]:
    return {reason.clock: reason.allows for reason in task.reasons}


def text_of(task: Task, clock: str) -> str:
    return next(reason.text for reason in task.reasons if reason.clock == clock)


STRAINER = part("strainer", "sea-strainer")
SEACOCK = part("cock", "seacock")
LITHIUM = part("bank", "lithium-bank", capacity_ah=460) + part(
    "heater", "load", standby_a=0.12, fed_by='[{ from = "bank", through = ["breaker"] }]'
)
BREAKER = part("breaker", "breaker", rating_a=20)


# Growth, and what a winter does to it ---------------------------------------------------------


def test_strainer_cleaned_in_september_is_due_when_thirty_warm_days_have_run(story: Story) -> None:
    task = story(STRAINER + done("strainer/clean-basket", "2026-09-10"), date(2026, 9, 11))[
        "strainer/clean-basket"
    ]
    # September 20 days × 0.812 = 16.2, October 20 × 0.660 = 13.2; the 21st would pass 30
    assert task.due == date(2026, 10, 20)
    assert task.opens == date(2026, 10, 10)  # a quarter of 40 days
    assert task.standing == "ahead"
    assert allowed(task)["months"] == date(2026, 12, 10)


def test_strainer_that_is_due_in_winter_waits_for_the_launch(story: Story) -> None:
    task = story(STRAINER + done("strainer/clean-basket", "2026-10-20"), date(2026, 11, 5))[
        "strainer/clean-basket"
    ]
    # October 11 × 0.660 = 7.3, April 30 × 0.5 = 15, May 12 × 0.616 = 7.4: 29.6 in all
    assert allowed(task)["fouling_days"] == date(2027, 5, 12)
    assert allowed(task)["months"] == date(2027, 1, 20)
    assert task.due == allowed(task)["place"] == date(2027, 4, 1)  # three months end ashore
    assert task.opens == date(2027, 2, 20)  # a quarter of 163 days is 40


def test_strainer_of_a_boat_that_winters_afloat_goes_on_fouling(story: Story) -> None:
    winter = "[[afloat]]\nfrom = 2026-11-01\nto = 2027-04-01\n\n"
    record = STRAINER + winter + done("strainer/clean-basket", "2026-10-20")
    found = story(record, date(2026, 11, 5))
    # 7.3 in October, November 30 × 0.536 = 16.1, December 14 × 0.467 = 6.5
    assert found["strainer/clean-basket"].due == date(2026, 12, 14)
    # that winter has no lay-up, so the next one counts: 1 November 2027 + 7
    assert found["strainer/empty-for-winter"].due == date(2027, 11, 8)


def test_ten_days_ashore_in_july_hold_growth_back(story: Story) -> None:
    record = STRAINER + done("strainer/clean-basket", "2026-07-01")
    away = ashore("2026-07-10", "2026-07-20")
    # July 30 × 0.871 = 26.1, August 4 × 0.933 = 3.7
    due = story(record, date(2026, 7, 2))["strainer/clean-basket"].due
    assert due == date(2026, 8, 4)
    # July 20 × 0.871 = 17.4, August 13 × 0.933 = 12.1
    due = story(record + away, date(2026, 7, 2))["strainer/clean-basket"].due
    assert due == date(2026, 8, 13)


def test_ten_days_ashore_in_july_are_no_lay_up(story: Story) -> None:
    found = story(STRAINER + ashore("2026-07-10", "2026-07-20"), date(2026, 7, 2))
    assert found["strainer/empty-for-winter"].due == date(2026, 11, 8)


def test_warm_water_never_brings_the_strainer_nearer_than_a_week(story: Story) -> None:
    record = STRAINER + done("strainer/clean-basket", "2026-06-01")
    record += limit("strainer/clean-basket", fouling_days=10)
    task = story(record, date(2026, 6, 2), water="lagoon")["strainer/clean-basket"]
    # a rich basin at 30 °C: 1.6 × 2 = 3.2 a day, 10 after 3 days; least 7
    assert task.due == date(2026, 6, 8)


def test_a_move_to_a_lake_slows_growth_from_that_day(story: Story) -> None:
    move = '[[berth]]\nwater = "lake"\nfrom = 2026-06-06\n\n'
    record = STRAINER + move + done("strainer/clean-basket", "2026-06-01")
    task = story(record, date(2026, 6, 2), water="lagoon")["strainer/clean-basket"]
    # 2 to 5 June 4 × 3.2 = 12.8; then 0.3 a day: 17.2 are 57.3 days from 5 June
    assert allowed(task)["fouling_days"] == date(2026, 8, 1)


# Lay-up and launch ----------------------------------------------------------------------------


def test_hauled_out_early_brings_the_lay_up_work_forward(story: Story) -> None:
    record = STRAINER + ashore("2026-09-15", "2027-04-10")
    task = story(record, date(2026, 9, 10))["strainer/empty-for-winter"]
    assert task.due == date(2026, 9, 22)  # 15 September + 7
    assert task.opens == date(2026, 9, 8)  # 15 September - 7
    assert task.standing == "now"


def test_hauled_out_early_stops_growth_until_the_late_launch(story: Story) -> None:
    record = STRAINER + ashore("2026-09-15", "2027-04-10")
    record += done("strainer/clean-basket", "2026-09-10")
    task = story(record, date(2026, 9, 11))["strainer/clean-basket"]
    # September 4 × 0.812 = 3.2, April 21 × 0.5 = 10.5, May 26 × 0.616 = 16.0
    assert allowed(task)["fouling_days"] == date(2027, 5, 26)
    assert task.due == date(2027, 4, 10)  # three months end ashore


def test_two_spells_in_one_winter_are_one_lay_up(story: Story) -> None:
    spells = ashore("2026-10-12", "2026-12-01") + ashore("2027-01-10", "2027-03-20")
    found = story(STRAINER + SEACOCK + spells, date(2026, 10, 1))
    assert found["strainer/empty-for-winter"].due == date(2026, 10, 19)  # first day out + 7
    assert found["cock/before-launch"].due == date(2027, 3, 18)  # last day in - 2


def test_southern_season_lays_up_in_may(story: Story) -> None:
    engine = part("engine", "diesel-engine")
    found = story(engine, date(2026, 8, 1), season=("10-01", "05-01"))
    assert found["engine/winterise"].due == date(2026, 5, 8)  # 1 May + 7: late, not lapsed
    assert found["engine/wake-from-lay-up"].due == date(2026, 9, 28)  # 1 October - 3
    found = story(engine, date(2026, 10, 1), season=("10-01", "05-01"))
    assert found["engine/winterise"].due == date(2027, 5, 8)


def test_launch_work_not_done_stays_late_until_lay_up_and_then_lapses(story: Story) -> None:
    cock = part("cock", "seacock", "2025-01-10")
    cock += done("cock/before-launch", "2025-03-30")
    summer = story(cock, date(2026, 10, 31))["cock/before-launch"]
    assert (summer.due, summer.standing) == (date(2026, 3, 30), "late")  # 1 April - 2
    winter = story(cock, date(2026, 11, 1))["cock/before-launch"]
    assert (winter.due, winter.standing) == (date(2027, 3, 30), "ahead")
    assert winter.opens == date(2027, 3, 23)  # the rule's own 7 days before


@pytest.mark.parametrize(
    ("on", "due"),
    [
        ("2027-03-22", date(2027, 3, 30)),  # a day before it opens: not this season's
        ("2027-03-23", date(2028, 3, 30)),  # the day it opens: done for 2027
    ],
)
def test_work_done_from_the_opening_on_counts_for_that_season(
    story: Story, on: str, due: date
) -> None:
    found = story(SEACOCK + done("cock/before-launch", on), date(2027, 3, 24))
    assert found["cock/before-launch"].due == due


@pytest.mark.parametrize(
    ("installed", "due"),
    [
        ("2026-11-07", date(2026, 11, 8)),  # the day before 1 November + 7
        ("2026-11-08", date(2027, 11, 8)),  # that day itself is not after the anchor
    ],
)
def test_first_lay_up_task_is_the_next_whose_day_is_after_the_anchor(
    story: Story, installed: str, due: date
) -> None:
    found = story(part("strainer", "sea-strainer", installed), date(2026, 11, 5))
    assert found["strainer/empty-for-winter"].due == due


def test_boat_without_a_season_is_not_asked_for_lay_up_work(story: Story) -> None:
    found = story(STRAINER, date(2026, 9, 10), season=None)
    assert set(found) == {"strainer/clean-basket"}


def test_boat_without_a_season_that_is_hauled_for_a_month_has_a_lay_up(story: Story) -> None:
    record = STRAINER + SEACOCK + ashore("2026-10-01", "2026-10-31")  # 30 days
    found = story(record, date(2026, 10, 2), season=None)
    assert found["strainer/empty-for-winter"].due == date(2026, 10, 8)
    assert found["cock/before-launch"].due == date(2026, 10, 29)


def test_boat_without_a_season_still_owes_launch_work_after_the_launch(story: Story) -> None:
    bleed = part("bleed", "air-bleed") + ashore("2026-10-01", "2026-10-31")
    task = story(bleed, date(2026, 11, 2), season=None)["bleed/bleed-after-launch"]
    assert (task.due, task.standing) == (date(2026, 11, 3), "now")  # 31 October + 3


def test_boat_without_a_season_hauled_for_29_days_has_no_lay_up(story: Story) -> None:
    record = STRAINER + ashore("2026-10-01", "2026-10-30")
    found = story(record, date(2026, 10, 2), season=None)
    assert "strainer/empty-for-winter" not in found


def test_without_season_stands_in_for_the_season_key_only(story: Story) -> None:
    record = part("horn", "horn") + done("horn/grease", "2026-05-10")
    laid_up = story(record, date(2026, 6, 1))["horn/grease"]
    assert allowed(laid_up) == {
        "before_lay_up_days": date(2026, 10, 18),  # 1 November - 14
        "months": date(2027, 11, 10),  # 18 after
    }
    assert laid_up.opens == date(2026, 9, 18)  # 30 days before that
    afloat = story(record, date(2026, 6, 1), season=None)["horn/grease"]
    assert allowed(afloat) == {"months": date(2027, 1, 10)}  # the smaller of 18 and 8


# Dates on the part ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("made", "due", "opens"),
    [
        ('"2016"', date(2028, 12, 31), date(2028, 11, 1)),  # 12 years on, to its last day
        ('"2016-02"', date(2028, 2, 29), date(2027, 12, 31)),  # a leap year
        ("2016-02-10", date(2028, 2, 10), date(2027, 12, 12)),
    ],
)
def test_extinguisher_is_renewed_twelve_years_after_its_stamp(
    story: Story, made: str, due: date, opens: date
) -> None:
    task = story(part("bottle", "fire-extinguisher", made=made), date(2026, 6, 1))[
        "bottle/renew-by-age"
    ]
    assert (task.due, task.opens) == (due, opens)  # expiry opens 60 days before
    assert task.then == ()  # a new one brings its own date


def test_old_extinguisher_keeps_its_printed_date_though_she_was_handed_over_later(
    story: Story,
) -> None:
    bottle = part("bottle", "fire-extinguisher", "2010-05-01", made='"2010-05"')
    task = story(bottle, date(2026, 6, 1))["bottle/renew-by-age"]
    assert (task.due, task.standing) == (date(2022, 5, 31), "late")


def test_flares_without_a_date_are_due_at_hand_over(story: Story) -> None:
    task = story(part("flares", "flares"), date(2026, 5, 2))["flares/renew"]
    assert (task.due, task.standing) == (date(2026, 5, 1), "late")
    assert "read the date printed on it" in text_of(task, "expiry")


@pytest.mark.parametrize(
    ("expires", "due"),
    [
        ("2026-10-09", date(2026, 8, 10)),  # 60 days after the renewal: the old flares' date
        ("2026-10-10", date(2026, 10, 10)),  # 61 days after
        ('"2030-08"', date(2030, 8, 31)),
    ],
)
def test_flares_renewed_in_august_need_the_date_of_the_new_ones(
    story: Story, expires: str, due: date
) -> None:
    record = part("flares", "flares", expires=expires) + done("flares/renew", "2026-08-10")
    assert story(record, date(2026, 9, 1))["flares/renew"].due == due


def test_renewal_nobody_recorded_is_due_thirty_days_after_hand_over(story: Story) -> None:
    task = story(part("engine", "diesel-engine", "2020-05-01"), date(2026, 5, 10))[
        "engine/renew-coolant"
    ]
    assert task.due == date(2026, 5, 31)  # 24 months from 2020 lie before 1 May 2026
    assert "no record" in text_of(task, "months")


def test_renewal_not_yet_due_at_hand_over_counts_from_installation(story: Story) -> None:
    task = story(part("engine", "diesel-engine", "2024-05-01"), date(2026, 5, 10))[
        "engine/renew-coolant"
    ]
    assert task.due == date(2026, 5, 1)  # 24 months end on the day of hand-over


# Engine hours ---------------------------------------------------------------------------------


def test_oil_by_four_readings_follows_the_median_slope(story: Story) -> None:
    record = part("engine", "diesel-engine") + limit("engine/change-oil", run_hours=100, months=12)
    record += done("engine/change-oil", "2026-04-30")
    record += hours(
        ("2026-03-31", 100), ("2026-04-10", 105), ("2026-04-30", 125), ("2026-05-30", 140)
    )
    task = story(record, date(2026, 6, 1), season=None)["engine/change-oil"]
    # slopes 0.5, 0.833, 0.667, 1, 0.7, 0.5 h a day: the middle two give 0.683
    # 15 h of 100 are gone by 30 May; 85 / 0.683 = 124.4 days: 1 October
    assert allowed(task) == {"run_hours": date(2026, 10, 1), "months": date(2027, 4, 30)}
    assert (task.due, task.opens) == (date(2026, 10, 1), date(2026, 8, 24))  # 154 // 4 = 38 days


def test_oil_by_stated_hours_runs_on_days_afloat_only(story: Story) -> None:
    record = part("engine", "diesel-engine", hours_per_year=107)
    record += limit("engine/change-oil", run_hours=40, months=12)
    record += done("engine/change-oil", "2026-10-02")
    task = story(record, date(2026, 10, 5))["engine/change-oil"]
    # 107 h over 214 days afloat: 0.5 a day. October 29 days 14.5 h, then 51 days from 1 April
    assert task.due == date(2027, 5, 21)


def test_oil_by_two_readings_pools_them_with_what_the_owner_says(story: Story) -> None:
    record = part("engine", "diesel-engine", hours_per_year=107)
    record += limit("engine/change-oil", run_hours=100, months=12)
    record += done("engine/change-oil", "2026-07-01")
    record += hours(("2026-07-01", 200), ("2026-08-30", 260))
    task = story(record, date(2026, 9, 1))["engine/change-oil"]
    # (0.5 × 90 + 60) / (90 + 60) = 0.7 h a day; 40 h left on 30 August are 57 days
    assert task.due == date(2026, 10, 26)


def test_oil_without_any_hours_keeps_its_calendar_limit(story: Story) -> None:
    record = part("engine", "diesel-engine") + done("engine/change-oil", "2026-07-01")
    record += limit("engine/change-oil", run_hours=100, months=12)
    task = story(record, date(2026, 9, 1))["engine/change-oil"]
    assert allowed(task) == {"months": date(2027, 7, 1), "run_hours": None}
    assert "read the hour meter" in text_of(task, "run_hours")


def test_oil_change_knows_no_date_before_the_makers_figure_is_recorded(story: Story) -> None:
    task = story(part("engine", "diesel-engine"), date(2026, 9, 1))["engine/change-oil"]
    assert (task.due, task.standing, task.then) == (None, "unknown", ())


def test_fuel_filter_runs_by_the_engine_that_drives_it(story: Story) -> None:
    record = part("engine", "diesel-engine", hours_per_year=365)
    record += part("filter", "fuel-filter", driven_by='"engine"')
    record += done("filter/drain-water", "2026-06-01")
    task = story(record, date(2026, 6, 2), season=None)["filter/drain-water"]
    # 1 h a day: 150 days after 1 June
    assert allowed(task) == {"run_hours": date(2026, 10, 29), "months": date(2026, 12, 1)}


# Banks in storage -----------------------------------------------------------------------------


def test_lithium_left_on_for_the_winter_lasts_sixty_days(story: Story) -> None:
    task = story(LITHIUM + BREAKER, date(2026, 11, 5))["bank/recheck-in-storage"]
    # 0.123 A, from 60 to 20 %: ln[(k s0 + i) / (k s1 + i)] / k month by month gives 60.97 days
    assert task.due == date(2026, 12, 31)
    assert task.opens == date(2026, 12, 11)  # two thirds of 60
    assert "taken for granted" in text_of(task, "charge_to")


def test_lithium_isolated_early_keeps_to_the_calendar(story: Story) -> None:
    record = LITHIUM + BREAKER + done("bank/isolate-for-storage", "2026-11-02")
    task = story(record, date(2026, 11, 5))["bank/recheck-in-storage"]
    # 3 mA alone: over two years; three months after lay-up come first
    assert task.due == date(2027, 2, 1)
    assert task.opens == date(2027, 1, 1)  # 92 × 2 / 3 = 61 days
    assert "over six months" in text_of(task, "charge_to")


def test_isolating_does_not_help_what_nothing_cuts(story: Story) -> None:
    bank = part("bank", "lithium-bank", capacity_ah=460)
    heater = part("heater", "load", standby_a=0.497, fed_by='[{ from = "bank" }]')
    record = bank + heater + done("bank/isolate-for-storage", "2026-11-02")
    # 0.5 A: 15.2 days
    task = story(record, date(2026, 11, 5))["bank/recheck-in-storage"]
    assert task.due == date(2026, 11, 16)


def test_charge_read_a_week_before_lay_up_is_what_storage_starts_from(story: Story) -> None:
    record = LITHIUM + BREAKER + charge("2026-10-17", 0.4) + charge("2026-10-25", 0.9)
    task = story(record, date(2026, 11, 5))["bank/recheck-in-storage"]
    # from 90 %: 105.98 days; three months come first
    assert allowed(task) == {"charge_to": date(2027, 2, 14), "months": date(2027, 2, 1)}


def test_charge_read_fifteen_days_before_lay_up_is_too_old(story: Story) -> None:
    record = LITHIUM + BREAKER + charge("2026-10-17", 0.9)
    task = story(record, date(2026, 11, 5))["bank/recheck-in-storage"]
    assert task.due == date(2026, 12, 31)  # as if not read


def test_charge_read_in_storage_counts_from_its_own_day(story: Story) -> None:
    record = LITHIUM + BREAKER + charge("2026-12-01", 0.5)
    task = story(record, date(2026, 12, 2))["bank/recheck-in-storage"]
    # from 50 % on 1 December: 45.9 days
    assert task.due == date(2027, 1, 15)


def test_lead_acid_left_on_for_the_winter_is_below_its_floor_in_a_fortnight(story: Story) -> None:
    record = part("bank", "lead-acid-bank", capacity_ah=100, chemistry='"agm"')
    record += part("clock", "load", standby_a=0.05, fed_by='[{ from = "bank" }]')
    task = story(record, date(2026, 11, 5))["bank/recharge-in-storage"]
    # 0.05 A, from 100 to 80 %: 16.02 days
    assert task.due == date(2026, 11, 17)
    assert task.opens == date(2026, 11, 11)  # 16 × 2 / 3 = 10 days


def test_recheck_in_winter_starts_the_clock_again_until_launch(story: Story) -> None:
    bank = part("bank", "lithium-bank", capacity_ah=460)
    december = bank + done("bank/recheck-in-storage", "2026-12-31")
    task = story(december, date(2027, 1, 2))["bank/recheck-in-storage"]
    assert task.due == date(2027, 3, 31)  # three months, the last day before launch
    january = bank + done("bank/recheck-in-storage", "2027-01-01")
    task = story(january, date(2027, 1, 2))["bank/recheck-in-storage"]
    assert task.due == date(2028, 2, 1)  # it would fall on the launch day: next lay-up + 3 months


def test_recheck_lapses_on_the_day_of_launch(story: Story) -> None:
    bank = part("bank", "lithium-bank", capacity_ah=460)
    late = story(bank, date(2027, 3, 31))["bank/recheck-in-storage"]
    assert (late.due, late.standing) == (date(2027, 2, 1), "late")
    next_winter = story(bank, date(2027, 4, 1))["bank/recheck-in-storage"]
    assert next_winter.due == date(2028, 2, 1)


def test_boat_left_in_summer_is_in_storage_too(story: Story) -> None:
    left = "[[left]]\nfrom = 2026-07-01\nto = 2026-10-20\n"
    task = story(LITHIUM + BREAKER + left, date(2026, 7, 2))["bank/recheck-in-storage"]
    assert task.due == date(2026, 8, 29)  # 0.123 A in summer: 59.97 days
    task = story(LITHIUM + BREAKER + left + "isolated = true\n", date(2026, 7, 2))[
        "bank/recheck-in-storage"
    ]
    assert task.due == date(2026, 10, 1)  # three months


def test_bank_fitted_in_the_middle_of_the_winter_counts_from_fitting(story: Story) -> None:
    bank = part("bank", "lithium-bank", "2026-12-10", capacity_ah=460)
    task = story(bank, date(2026, 12, 12))["bank/recheck-in-storage"]
    assert task.due == date(2027, 3, 10)


# Where she must be ----------------------------------------------------------------------------


def test_ashore_work_due_afloat_goes_back_to_the_last_day_ashore(story: Story) -> None:
    record = part("horn", "horn", "2025-01-01") + limit("horn/scrape", months=14)
    record += done("horn/scrape", "2026-03-15")
    task = story(record, date(2026, 6, 1))["horn/scrape"]
    # due 15 May 2027; 31 March is 381 of 426 days on: past half-way
    assert task.due == allowed(task)["place"] == date(2027, 3, 31)
    assert task.opens == date(2027, 1, 30)  # 381 // 4 is over 60


@pytest.mark.parametrize(
    ("on", "due"),
    [
        ("2026-03-19", date(2026, 11, 1)),  # due 19 September: 43 days on, 184 / 4 = 46
        ("2026-03-15", date(2026, 9, 15)),  # due 15 September: 47 days on is more than 46
    ],
)
def test_ashore_work_waits_for_lay_up_if_that_is_near_enough(
    story: Story, on: str, due: date
) -> None:
    record = part("horn", "horn", "2025-01-01") + limit("horn/scrape", months=6)
    task = story(record + done("horn/scrape", on), date(2026, 6, 1))["horn/scrape"]
    assert task.due == due
    assert ("lifted" in text_of(task, "place")) == (due.month == 9)


def test_printed_date_never_waits_for_lay_up(story: Story) -> None:
    task = story(part("plug", "plug", made="2026-03-20"), date(2026, 6, 1))["plug/renew"]
    # 20 September; lay-up comes 42 days on, within a quarter of 184, but the date is printed
    assert task.due == date(2026, 9, 20)
    assert "must be lifted" in text_of(task, "place")


def test_boat_never_ashore_must_be_lifted_for_it(story: Story) -> None:
    record = part("zinc", "shaft-anode", alloy='"zinc"') + done("zinc/renew", "2026-05-10")
    task = story(record, date(2026, 6, 1), season=None)["zinc/renew"]
    assert task.due == date(2028, 5, 10)
    assert "must be lifted" in text_of(task, "place")
    assert not task.can_be_done_now


def test_required_work_afloat_comes_before_the_lay_up(story: Story) -> None:
    record = part("horn", "horn") + done("horn/sound", "2026-05-10")
    task = story(record, date(2026, 6, 1))["horn/sound"]
    assert task.binding == "required"  # the act was read, and she lies in its water
    assert task.due == date(2026, 10, 31)  # due 10 February 2027: the last day afloat before


def test_work_afloat_that_is_not_required_waits_for_the_launch(story: Story) -> None:
    record = part("horn", "horn") + done("horn/sound", "2026-05-10")
    task = story(record, date(2026, 6, 1), water="lake")["horn/sound"]
    assert (task.binding, task.due) == ("practice", date(2027, 4, 1))


def test_required_work_done_in_winter_waits_for_the_launch(story: Story) -> None:
    record = part("horn", "horn") + limit("horn/sound", months=2) + done("horn/sound", "2026-11-10")
    task = story(record, date(2026, 11, 12))["horn/sound"]
    assert task.due == date(2027, 4, 1)  # no day afloat between 10 November and 10 January


def test_alarm_tested_weekly_afloat_rests_ashore(story: Story) -> None:
    record = part("alarm", "smoke-alarm") + limit("alarm/press-test", weeks=1)
    record += done("alarm/press-test", "2026-10-28")
    task = story(record, date(2026, 10, 30))["alarm/press-test"]
    assert task.due == date(2027, 4, 1)  # 4 November is ashore
    assert task.then == (date(2027, 4, 8), date(2027, 4, 15), date(2027, 4, 22))


# Whose limits ---------------------------------------------------------------------------------


def test_her_own_book_shortens_a_limit(story: Story) -> None:
    bank = part("bank", "lithium-bank", capacity_ah=460)
    record = bank + limit("bank/look-over-terminals", months=6)
    task = story(record, date(2026, 6, 1))["bank/look-over-terminals"]
    assert task.due == date(2026, 11, 1)  # 6 months after hand-over, not 12
    assert "her own book" in text_of(task, "months")


def test_dropped_task_is_not_listed(story: Story) -> None:
    record = BREAKER + limit("breaker/exercise", drop="true")
    assert "breaker/exercise" not in story(record, date(2026, 6, 1))


@pytest.mark.parametrize(("flag", "due"), [("gb", date(2026, 11, 1)), ("us", date(2026, 6, 1))])
def test_scope_of_a_flag_shortens_the_test_of_a_device(story: Story, flag: str, due: date) -> None:
    device = part("rcd", "residual-current-device", trip_ma=30)
    task = story(device, date(2026, 5, 10), flag=flag)["rcd/press-test"]
    assert task.due == due  # 6 months, in the us 1


def test_only_a_flooded_battery_is_topped_up(story: Story) -> None:
    bank = part("bank", "lead-acid-bank", capacity_ah=100, chemistry='"gel"')
    assert "bank/top-up-water" not in story(bank, date(2026, 6, 1))
    bank = part("bank", "lead-acid-bank", capacity_ah=100, chemistry='"flooded"')
    # 30 days afloat after hand-over on 1 May
    assert story(bank, date(2026, 6, 1))["bank/top-up-water"].due == date(2026, 5, 31)


# What counts as done --------------------------------------------------------------------------


def test_work_on_the_part_before_this_one_does_not_count(story: Story) -> None:
    record = BREAKER + done("breaker/exercise", "2026-02-28")  # fitted 1 March
    task = story(record, date(2026, 6, 1))["breaker/exercise"]
    assert (task.anchor, task.done) == (date(2026, 5, 1), False)  # hand-over
    assert "no record before" in text_of(task, "months")


def test_work_recorded_ahead_of_today_does_not_count_yet(story: Story) -> None:
    record = BREAKER + done("breaker/exercise", "2026-05-20", "2026-06-20")
    assert story(record, date(2026, 6, 19))["breaker/exercise"].anchor == date(2026, 5, 20)
    assert story(record, date(2026, 6, 20))["breaker/exercise"].anchor == date(2026, 6, 20)


def test_months_are_clipped_and_never_stepped(story: Story) -> None:
    record = BREAKER + done("breaker/exercise", "2026-08-31")
    task = story(record, date(2026, 9, 1))["breaker/exercise"]
    assert (task.due, task.opens) == (date(2027, 2, 28), date(2027, 1, 14))  # 181 // 4 = 45
    # each as if done on the day before it, so from 28 February on the 28th stands
    assert task.then == (date(2027, 8, 28), date(2028, 2, 28), date(2028, 8, 28))


@pytest.mark.parametrize(
    ("today", "standing"),
    [
        (date(2027, 1, 13), "ahead"),
        (date(2027, 1, 14), "now"),
        (date(2027, 2, 28), "now"),
        (date(2027, 3, 1), "late"),
    ],
)
def test_task_is_now_from_its_opening_to_its_due_day(
    story: Story, today: date, standing: str
) -> None:
    found = story(BREAKER + done("breaker/exercise", "2026-08-31"), today)
    assert found["breaker/exercise"].standing == standing


def test_dates_after_a_late_task_start_from_today(story: Story) -> None:
    record = part("breaker", "breaker", "2025-01-01", rating_a=20)
    task = story(record + done("breaker/exercise", "2025-01-15"), date(2026, 9, 10))[
        "breaker/exercise"
    ]
    assert (task.due, task.standing) == (date(2025, 7, 15), "late")
    assert task.then == (date(2027, 3, 10), date(2027, 9, 10), date(2028, 3, 10))


def test_dates_after_a_late_task_start_on_the_day_she_can_be_worked_on(story: Story) -> None:
    record = part("pump", "raw-water-pump") + done("pump/look-over", "2026-03-01")
    task = story(record, date(2026, 12, 1))["pump/look-over"]
    assert (task.due, task.standing) == (date(2026, 9, 1), "late")
    # done at the launch on 1 April; 1 October is afloat; 1 April again is a launch day
    assert task.then == (date(2027, 10, 1), date(2028, 4, 1), date(2028, 10, 1))


@pytest.mark.parametrize(
    ("record", "flag", "due"),
    [
        ("", "gb", None),
        ('[[limit]]\ntask = "horn/polish"\ndrop = false\nsource = "her owner"\n', "gb", (8, 1)),
        ('[[limit]]\ntask = "horn/polish"\nmonths = 4\nsource = "her owner"\n', "gb", (9, 1)),
        ('[[limit]]\ntask = "horn/polish"\ndrop = true\nsource = "her owner"\n', "us", None),
        ('[[last_done]]\ntask = "horn/polish"\non = 2026-05-20\n', "gb", (8, 20)),
        ("", "us", (8, 1)),
    ],
)
def test_a_rule_on_request_waits_until_something_asks(
    story: Story, record: str, flag: str, due: tuple[int, int] | None
) -> None:
    horn = '[[component]]\nid = "horn"\nkind = "horn"\nlocation = "deck"\ninstalled = 2026-05-01\n'
    tasks = story(horn + record, date(2026, 6, 1), flag=flag)
    found = tasks.get("horn/polish")
    assert (found.due if found else None) == (due and date(2026, *due))


@pytest.mark.parametrize("drop", [True, False])
def test_a_law_of_another_berth_holds_against_her_own_limit(
    story: Story, tmp_path: Path, drop: bool
) -> None:
    # Required in the bay alone. She lies in the lake, and moved to the bay in June.
    record = part("horn", "horn", "2026-05-01") + '[[berth]]\nwater = "bay"\nfrom = 2026-06-01\n'
    own = "drop = true" if drop else "months = 18"
    own = f'[[limit]]\ntask = "horn/sound"\n{own}\nsource = "her book"\n'
    story(record, date(2026, 7, 1), season=None, water="lake")
    path = tmp_path / "vessels/skua.toml"
    path.write_text(path.read_text() + own)
    loaded = load_fleet(tmp_path)
    assert [problem.message for problem in loaded.problems] == [
        "sound is required" if drop else "months of sound is longer than required"
    ]


def test_a_required_limit_stands_whatever_a_record_says(story: Story) -> None:
    # Where the law is not hers when the record is checked, dates hold her to it all the same.
    from upkeep.model import Override
    from upkeep.terms import Standing, settle_terms

    task = story(part("horn", "horn", "2026-05-01"), date(2026, 7, 1))["horn/sound"]
    assert task.binding == "required"
    there = Standing(flag="gb", jurisdiction="bay-law", use="private", classes=(), schemes=())
    for months, held in ((18, 9), (4, 4)):
        own = Override(
            component="horn", rule="sound", limits={"months": months}, source="", dropped=False,
            path=(),
        )  # fmt: skip
        assert settle_terms(task.rule, there, own).limits["months"] == held

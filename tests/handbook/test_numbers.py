"""Run times, charge times, flow and cold months against figures worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from upkeep.model import Component, Draw, Output

from .builder import (
    ALTERNATOR,
    BASIN,
    CHARGER,
    DC_DC,
    LEAD,
    build,
    feed_from,
    find_chapter,
    find_facts,
    find_table,
    list_texts,
    make_bank,
    make_component,
    make_fleet,
    make_reading,
    make_unit,
    make_vessel,
)


def build_power(*components: Component) -> dict[str, tuple[str | None, ...]]:
    chapter = find_chapter(build(make_vessel(components)), 6)
    table = find_table(chapter, "Service bank: how long")
    return {str(row[0]): row[1:] for row in table.rows}


def test_run_time_shows_three_numbers_by_hand() -> None:
    # 500 Ah × 0.85 = 425 Ah; 425/25 = 17, 425/31 = 13.71, 425/44 = 9.659
    rows = build_power(make_bank(), make_unit())
    assert rows == {"Nothing charging": ("17.0 h", "13.7 h", "9.66 h")}


def test_run_time_table_heads_name_each_current() -> None:
    chapter = find_chapter(build(make_vessel((make_bank(), make_unit()))), 6)
    head = find_table(chapter, "Service bank: how long").head
    assert head[1:] == ("Least, 25 A", "Usual, 31 A", "Full, 44 A")


def test_run_time_says_whether_the_usable_part_is_recorded_or_practice() -> None:
    chapter = find_chapter(build(make_vessel((make_bank(), make_unit()))), 6)
    assert find_facts(chapter)["Usable part"] == "85 %, as recorded"
    left = replace(make_bank(), assumed=frozenset({"usable"}))
    chapter = find_chapter(build(make_vessel((left, make_unit()))), 6)
    assert find_facts(chapter)["Usable part"] == "85 % (common practice, no source)"
    assert any("common practice, no source" in text for text in list_texts(chapter.blocks))


def test_run_time_while_charging_counts_the_net_current() -> None:
    # 44 A less 30 A leaves 14 A: 425/14 = 30.36 h; less 40 A leaves 4 A: 106 h, four days
    rows = build_power(
        make_bank(supplies=feed_from("charger") + feed_from("alternator")),
        make_component("charger", CHARGER, values={"output_a": 40.0}),
        make_component("alternator", ALTERNATOR, values={"output_a": Output(idle=20, cruise=30)}),
        make_unit(),
    )
    assert rows["Engine idling, 20 A"] == ("3 days", "38.6 h", "17.7 h")
    assert rows["Engine at cruise, 30 A"] == ("charging covers it", "17 days", "30.4 h")
    assert rows["Shore power, 40 A"] == ("charging covers it", "charging covers it", "4 days")


def test_charging_through_another_bank_counts_the_nearest_charger_only() -> None:
    steady = {"output_a": Output(idle=9, cruise=9)}
    rows = build_power(
        make_bank(supplies=feed_from("dc-dc")),
        make_component("dc-dc", DC_DC, supplies=feed_from("start"), values=steady),
        make_component("start", LEAD, supplies=feed_from("alternator")),
        make_component("alternator", ALTERNATOR, values={"output_a": Output(idle=20, cruise=30)}),
        make_unit(),
    )
    assert list(rows) == ["Nothing charging", "Engine idling, 9 A", "Engine at cruise, 9 A"]


def test_run_time_without_draw_at_part_load_says_so() -> None:
    unit = make_unit(values={"draw_a": Draw(low=0, usual=31, full=44)})
    assert build_power(make_bank(), unit)["Nothing charging"][0] == "nothing draws"


def test_run_time_of_lead_acid_follows_peukert() -> None:
    # 0.5 × 20 h × (100 Ah / (10 A × 20 h)) ^ 1.15 = 10 × 0.5^1.15 = 4.506 h
    values = {"capacity_ah": 100.0, "usable": 0.5, "rated_h": 20.0, "chemistry": "agm"}
    bank = make_component("bank", LEAD, name="service bank", values=values)
    unit = make_unit(values={"draw_a": Draw(low=5, usual=10, full=10)})
    # at 5 A, its rated current, there is no loss: 0.5 × 100 / 5 = 10 h
    assert build_power(bank, unit)["Nothing charging"] == ("10.0 h", "4.51 h", "4.51 h")


def test_charge_time_of_lithium_by_hand() -> None:
    # from 15 % up is 425 Ah; 425 / (0.98 × 40 A) = 10.84 h; less 25 A: 28.9 h; 44 A never
    bank = make_bank(supplies=feed_from("charger"))
    charger = make_component("charger", CHARGER, values={"output_a": 40.0})
    chapter = find_chapter(build(make_vessel((bank, charger, make_unit()))), 6)
    (row,) = find_table(chapter, "Service bank: charge time from 15 % to 100 %").rows
    assert row[:3] == ("Shore power, 40 A", "10.8 h", "28.9 h")
    assert row[4] == "never: the draw takes it all"


@pytest.mark.parametrize("missing", ["capacity_ah", "usable"])
def test_bank_without_figures_gives_no_time(missing: str) -> None:
    bank = make_bank()
    kept = {key: value for key, value in bank.values.items() if key != missing}
    vessel = make_vessel((replace(bank, values=kept, kind=replace(bank.kind, rules=())),))
    chapter = find_chapter(build(vessel), 6)
    assert any("no time is given" in text for text in list_texts(chapter.blocks))


def test_flow_without_reading_is_reckoned_from_heat() -> None:
    # 2600 W + 38 A × 12 V = 3056 W over 5 K: 8.96 L/min (sea water 3993 J/(kg K), 1025 kg/m³)
    unit = make_unit(values={"draw_a": Draw(low=9, usual=19, full=38)})
    chapter = find_chapter(build(make_vessel((make_bank(), unit))), 6)
    (row,) = find_table(chapter, "Flow to expect").rows
    assert row[1:3] == ("about 8.96 L/min", None)


def test_flow_with_commissioning_reading_names_the_limit() -> None:
    readings = (make_reading("unit", "overboard_flow_l_per_min", 12.5),)
    chapter = find_chapter(build(make_vessel((make_bank(), make_unit()), readings=readings)), 6)
    (row,) = find_table(chapter, "Flow to expect").rows
    assert row == ("climate unit", "12.5 L/min", "11.25 L/min", "measured on 12 June 2026")


@pytest.mark.parametrize(
    ("lowest_c", "months"),
    [
        (5.0, "No month of a usual year"),
        (8.0, "February"),  # January and March have just 8 °C: still warm enough
        (8.5, "January to March"),
        (9.5, "December to March"),
        (7.5, "February"),
        (40.0, "All year"),
    ],
)
def test_cold_months_follow_the_water(lowest_c: float, months: str) -> None:
    unit = make_unit(values={"lowest_sea_c": lowest_c})
    chapter = find_chapter(build(make_vessel((make_bank(), unit))), 6)
    assert find_table(chapter, "Too cold").rows[0][2] == months


def test_temperatures_in_us_units_follow_in_brackets() -> None:
    book = build(make_vessel(()), fleet=make_fleet(units="us"))
    rows = find_table(find_chapter(book, 6), "inner basin").rows
    assert rows[0][:2] == ("January", "8 °C (46.4 °F)")


def test_growth_column_doubles_over_ten_degrees() -> None:
    water = replace(BASIN, monthly_c=(10, 20, *BASIN.monthly_c[2:]))
    chapter = find_chapter(build(make_vessel(()), fleet=make_fleet(water)), 6)
    rows = find_table(chapter, "inner basin").rows
    assert [row[-1] for row in rows[:2]] == ["0.50", "1.00"]


def test_numbers_without_bank_say_so() -> None:
    chapter = find_chapter(build(make_vessel(())), 6)
    assert any(text.startswith("No battery bank") for text in list_texts(chapter.blocks))

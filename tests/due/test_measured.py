"""Dates from what was weighed and read: anodes and readings, each reckoned by hand.

Zinc 780 Ah/kg, days = share x mass x 780 / (24 x current): cathodic-protection weight
calculators. The cited vectors of both models run in tests/physics.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date

import pytest

from upkeep.model import Task

Story = Callable[..., Mapping[str, Task]]

ANODE = """
[[component]]
id = "anode"
kind = "hull-anode"
location = "under the stern"
installed = 2026-05-01
alloy = "zinc"
{}
"""
READ = '[[reading]]\ncomponent = "{}"\nname = "{}"\non = {}\nvalue = {}\n'
DONE = '[[last_done]]\ntask = "{}"\non = {}\n'


def reason(task: Task, clock: str) -> tuple[date | None, str]:
    return next((r.allows, r.text) for r in task.reasons if r.clock == clock)


@pytest.mark.parametrize(
    ("record", "allows", "says"),
    [
        # 0.5 x 0.06 kg x 780 Ah/kg / (24 h x 0.02 A) = 48.75 days afloat
        ("mass_g = 60\ncurrent_ma = 20", date(2026, 6, 18), "by the current recorded"),
        # ten times slower, 487 days afloat; out from 1 November to 31 March: 183 after 1 May
        # 2026, 214 in 2027, 90 more from 1 April 2028: 29 June
        ("mass_g = 60\ncurrent_ma = 2", date(2028, 6, 29), "by the current recorded"),
        ("mass_g = 60", None, "weigh it"),
        ("current_ma = 20", None, "record its weight when new"),
        ("", None, "record its weight when new"),
    ],
)
def test_anode_lasts_by_its_current_over_days_afloat(
    story: Story, record: str, allows: date | None, says: str
) -> None:
    task = story(ANODE.format(record), date(2026, 5, 20))["anode/renew"]
    found, text = reason(task, "anode_used")
    assert found == allows
    assert says in text
    if allows is not None and allows < date(2027, 1, 1):
        assert task.due is not None
        assert task.due <= allows
    assert any(r.clock == "months" and r.allows for r in task.reasons)


def test_weighing_replaces_the_recorded_current(story: Story) -> None:
    # 1000 g new on 1 May; 800 g on 10 July, 70 days later: 2.857 g a day.
    # Half is 500 g: 300 g more at that rate is 105 days: 23 October.
    record = ANODE.format("mass_g = 1000\ncurrent_ma = 500")
    record += READ.format("anode", "anode_g", "2026-07-10", 800)
    found, text = reason(story(record, date(2026, 7, 20))["anode/renew"], "anode_used")
    assert found == date(2026, 10, 23)
    assert "weighed on 10 July 2026, 20 % gone" in text


def test_anode_found_past_its_limit_is_due_the_day_it_was_weighed(story: Story) -> None:
    record = ANODE.format("mass_g = 1000") + READ.format("anode", "anode_g", "2026-07-10", 450)
    task = story(record, date(2026, 7, 20))["anode/renew"]
    assert reason(task, "anode_used")[0] == date(2026, 7, 10)


@pytest.mark.parametrize("weight", [1000, 1005])
def test_anode_that_lost_nothing_is_a_fault_and_gives_no_date(story: Story, weight: int) -> None:
    record = ANODE.format("mass_g = 1000\ncurrent_ma = 20")
    record += READ.format("anode", "anode_g", "2026-07-10", weight)
    found, text = reason(story(record, date(2026, 7, 20))["anode/renew"], "anode_used")
    assert found is None
    assert "it does not work" in text


def test_new_anode_takes_the_rate_of_the_one_before(story: Story) -> None:
    # 200 of 1000 g in 70 days, renewed on 20 July 2026: 500 g last 175 days afloat.
    # 103 to 31 October 2026, 72 more from 1 April 2027: 11 June.
    record = ANODE.format("mass_g = 1000\ncurrent_ma = 500")
    record += READ.format("anode", "anode_g", "2026-07-10", 800)
    record += DONE.format("anode/renew", "2026-07-20")
    found, text = reason(story(record, date(2026, 8, 1))["anode/renew"], "anode_used")
    assert found == date(2027, 6, 11)
    assert "as the one before it was weighed" in text


def test_anode_of_another_weight_before_it_tells_grams_not_shares(story: Story) -> None:
    # 400 g weighed new on 1 May, 260 g on 10 July: 140 g in 70 days, 2 g a day. Of the new
    # 1000 g half is 500 g: 250 days afloat after 20 July. 103 to 31 October, 147 from 1 April
    # 2027: 25 August.
    record = ANODE.format("mass_g = 1000")
    record += READ.format("anode", "anode_g", "2026-05-01", 400)
    record += READ.format("anode", "anode_g", "2026-07-10", 260)
    record += DONE.format("anode/renew", "2026-07-20")
    found, _ = reason(story(record, date(2026, 8, 1))["anode/renew"], "anode_used")
    assert found == date(2027, 8, 25)


UNIT = """
[[component]]
id = "unit"
kind = "climate-unit"
location = "under the berth"
installed = 2026-05-01
draw_a = 20
"""
FLOW_TASK = "unit/compare-readings"
FIRST = READ.format("unit", "overboard_flow_l_per_min", "2026-05-01", 10) + "commissioning = true\n"


def flow(*rows: tuple[str, float]) -> str:
    return "".join(READ.format("unit", "overboard_flow_l_per_min", on, value) for on, value in rows)


@pytest.mark.parametrize(
    ("record", "allows", "says"),
    [
        (FIRST, None, "read 10 L/min on 1 May 2026, within it"),
        (FIRST + flow(("2026-06-01", 9.0)), None, "within it"),  # the bound itself is inside
        (FIRST + flow(("2026-06-01", 8.9)), date(2026, 6, 1), "past it since 1 June 2026"),
        (FIRST + flow(("2026-06-01", 8.9), ("2026-06-09", 7)), date(2026, 6, 1), "past it since"),
        (FIRST + flow(("2026-06-01", 7), ("2026-06-09", 9.5)), None, "within it"),
        (flow(("2026-06-01", 7)), None, "the first reading is not recorded"),
        ("", None, "the first reading is not recorded"),
    ],
)
def test_reading_past_its_bound_is_due_from_the_day_it_was_read(
    story: Story, record: str, allows: date | None, says: str
) -> None:
    task = story(UNIT + record, date(2026, 6, 20))[FLOW_TASK]
    found, text = reason(task, "reading")
    assert found == allows
    assert says in text
    if allows:
        assert (task.due, task.standing) == (allows, "late")


def test_a_bound_met_exactly_is_not_passed(story: Story) -> None:
    # 0.9 x 13 is 11.700000000000001 in floating point
    first = READ.format("unit", "overboard_flow_l_per_min", "2026-05-01", 13)
    record = UNIT + first + "commissioning = true\n" + flow(("2026-06-01", 11.7))
    task = story(record, date(2026, 6, 20))[FLOW_TASK]
    assert reason(task, "reading")[0] is None


def test_work_done_after_a_reading_settles_it(story: Story) -> None:
    record = UNIT + FIRST + flow(("2026-06-01", 7))
    for on, late in (("2026-05-31", True), ("2026-06-01", False), ("2026-06-10", False)):
        task = story(record + DONE.format(FLOW_TASK, on), date(2026, 6, 20))[FLOW_TASK]
        assert (task.standing == "late") is late, on

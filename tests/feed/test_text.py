"""What a reader is told: first line, place, cautions before steps, what to do when done."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from upkeep.feed.describe import say_summary
from upkeep.feed.words import list_steps, shorten
from upkeep.model import Contact

from .builder import CAUTIONS, TODAY, build, find_event, make_fleet, make_task, make_vessel


def describe(fleet: Any = None, **changes: Any) -> str:
    """Give the text of the standing event of one task."""
    content = build([make_task(**changes)], fleet=fleet or make_fleet())
    return str(find_event(content, kind="standing")["DESCRIPTION"])


def test_text_reads_in_the_order_a_person_needs() -> None:
    rule = {"cautions": ("wet-floor", "stored-charge"), "hand": "licensed", "out_of_water": True}
    assert describe(rule=rule).split("\n\n") == [
        "70 days since the last time are over on 2027-07-05.",
        'Where: galley, under the sink, left side, marked "SEA 1".\n'
        "Who: a licensed person.\n"
        "She must be out of the water for it.",
        "WARNING: A bank can drive a large current through a tool. It can burn you. "
        "Open the isolator. Take off rings and watches.\n"
        "CAUTION: Water runs out of the housing. The floor gets slippery. "
        "Close the seacock first.",
        "1. Close the seacock.\n2. Lift out the basket.\n3. Rinse it.",
        "Healthy: The glass is clear and no bubble passes.\nWrite down how full the basket was.",
        "More: https://boats.example/handbooks/skua.html#task-strainer-clean-basket\n"
        "To mark it done: mailto:workshop@quay.example?subject=Skua%3A%20Clean%20the%20"
        "strainer%20basket%2C%20done%20%28skua%2Fstrainer%2Fclean-basket%29",
    ]


def test_long_steps_go_from_the_end_and_the_caution_stays() -> None:
    steps = "\n".join(f"{n}. Turn screw {n} by a quarter and look." for n in range(1, 101))
    text = describe(rule={"steps": steps})
    assert len(text) < 2000
    assert "CAUTION: Water runs out of the housing." in text
    assert "\n1. Turn screw 1 " in text
    assert "100. " not in text
    assert "look.\n… the rest is in the handbook\n" in text
    assert "#task-strainer-clean-basket\nTo mark it done: mailto:" in text


def test_one_endless_step_leaves_cautions_place_and_link() -> None:
    text = describe(rule={"steps": f"1. {'x' * 10_000}"})
    assert len(text) < 2000
    assert "CAUTION:" in text
    assert "Where:" in text
    assert "\n\n… the rest is in the handbook\n\n" in text


def test_cautions_outlast_everything_else() -> None:
    """Twenty long cautions are longer than the limit; none of them is cut."""
    rule = {"cautions": tuple(f"c{n}" for n in range(20))}
    cautions = {
        name: replace(CAUTIONS["wet-floor"], hazard=f"{name} {'y' * 100}")
        for name in rule["cautions"]
    }
    event = find_event(build([make_task(rule=rule)], cautions=cautions), kind="standing")
    text = str(event["DESCRIPTION"])
    assert text.count("CAUTION: ") == text.count("Close the seacock first.") == 20
    assert "Write down" not in text
    assert "1. Close" not in text


def test_without_address_and_letter_it_says_whom_to_tell() -> None:
    contact = Contact(name="Quay workshop", phone="+00 000", email="")
    text = describe(make_fleet(address="", contact=contact))
    assert text.endswith("\n\nTell Quay workshop +00 000 when it is done.")


def test_first_line_is_one_short_line() -> None:
    reasons = tuple(replace(item, text="word " * 200) for item in make_task().reasons)
    line = describe(reasons=reasons).splitlines()[0]
    assert len(line) <= 160
    assert line.endswith("word…")


def test_address_with_closing_slash_gives_one_slash() -> None:
    assert "https://a.example/b/handbooks/skua.html" in describe(
        make_fleet(address="https://a.example/b/")
    )


@pytest.mark.parametrize(
    ("title", "name", "said"),
    [
        ("Clean the basket", "galley strainer", "Clean the basket – galley strainer"),
        ("Test the smoke alarm", "Smoke alarm", "Test the smoke alarm"),
        ("Renew the flares", "flares", "Renew the flares"),
        ("Test the alarm", "smoke alarm", "Test the alarm – smoke alarm"),
    ],
)
def test_summary_names_the_component_unless_the_title_does(
    title: str, name: str, said: str
) -> None:
    task = make_task(rule={"title": title}, component={"name": name})
    assert say_summary(task) == said


@pytest.mark.parametrize("hand", ["competent", "licensed"])
def test_summary_says_book_when_it_is_not_the_owners_hand(hand: str) -> None:
    assert say_summary(make_task(rule={"hand": hand})).startswith("Book: Clean the ")


def test_done_event_of_booked_work_no_longer_says_book() -> None:
    task = make_task(rule={"hand": "licensed"})
    first = build([task])
    done = make_vessel([("strainer/clean-basket", TODAY)])
    after = replace(task, due=date(2027, 8, 11), shown_on=date(2027, 8, 11))
    event = find_event(build([after], previous=first, vessel=done), kind="done")
    assert str(event["SUMMARY"]).startswith("Done: Clean the ")


@pytest.mark.parametrize(
    ("markdown", "steps"),
    [
        ("1. One.\n2. Two.\n", ("1. One.", "2. Two.")),
        ("3. Three.\n7. Seven.", ("1. Three.", "2. Seven.")),
        ("1. One\n   goes on.\n\n2. Two.", ("1. One goes on.", "2. Two.")),
        ("1. **Never** pull the *cord*.\x07", ("1. Never pull the cord.",)),
        ("1. Press <b>START</b> & wait.", ("1. Press <b>START</b> & wait.",)),
        (r"1. Keep 2 * 3 and a_b_c and \*this\*.", ("1. Keep 2 * 3 and a_b_c and *this*.",)),
        ("Wash it.", ("1. Wash it.",)),
        ("", ()),
    ],
)
def test_markdown_steps_become_plain_lines(markdown: str, steps: tuple[str, ...]) -> None:
    assert list_steps(markdown) == steps


@pytest.mark.parametrize(
    ("text", "longest", "short"),
    [
        ("exactly ten", 11, "exactly ten"),
        ("one two three", 9, "one two…"),
        ("abcdefghij", 5, "abcd…"),
        ("abc\N{WOMAN}\u200d\N{ROCKET}d", 6, "abc…"),
        ("abce\u0301fgh", 5, "abc…"),
    ],
)
def test_shorten_cuts_between_words_or_signs(text: str, longest: int, short: str) -> None:
    assert shorten(text, longest) == short

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.logbook.books import NOON, any_facts, draft, instants
from upkeep.logbook.entries import (
    GENESIS,
    Draft,
    Entry,
    Head,
    chain,
    correct,
    find_own_break,
    make_id,
    read_facts,
    read_time,
    write_facts,
    write_json,
    write_time,
)

# Worked with coreutils alone: printf '%s' '["skua",…,0]' | sha256sum | cut -c1-12, and
# printf '%s' '000…0{"facts":…}' | sha256sum.
FACTS = {"task": "strainer/clean-basket", "on": "2026-05-01", "wear": 0.5, "note": "müde"}
ID = "48ce6e7fcc10"
HASH = "68a7847c1d981a42db87988bbe90fbe35c877b7c49107bb737c03c939d352cdb"


def test_first_entry_hashes_as_sha256sum_does() -> None:
    said = Draft(vessel="skua", kind="done", facts=FACTS, recorded_at=NOON)
    assert make_id(said) == ID
    entry = chain(said, Head(), make_id(said))
    assert entry.hash == HASH
    assert (entry.seq, entry.previous) == (1, GENESIS)


@given(any_facts)
def test_facts_written_and_read_are_the_same_and_have_one_form(facts: dict[str, object]) -> None:
    text = write_facts(facts)
    assert read_facts(text) == facts
    assert write_facts(dict(reversed(facts.items()))) == text
    assert json.loads(text) == json.loads(json.dumps(facts))


@pytest.mark.parametrize("value", [float("nan"), float("inf"), "\ud800"])
def test_facts_that_have_no_canonical_form_are_refused(value: object) -> None:
    with pytest.raises(ValueError, match=r"JSON|surrogates"):
        write_json({"note": value})


@pytest.mark.parametrize(
    "text", ["[1]", "{", '{"a":{"b":1}}', '{"a":[[1]]}', '{"a":NaN}', "[" * 100_000]
)
def test_text_that_is_no_flat_table_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        read_facts(text)


@given(instants)
def test_instants_written_and_read_are_the_same_and_equally_long(at: datetime) -> None:
    text = write_time(at)
    assert read_time(text) == at
    assert len(text) == 27
    away = at.astimezone(timezone(timedelta(hours=5, minutes=30)))
    assert write_time(away) == text


@pytest.mark.parametrize(
    "text", ["2026-05-01", "2026-05-01T12:00:00Z", "2026-05-01T12:00:00.000000", "noon", ""]
)
def test_instants_in_another_form_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        read_time(text)


def test_instant_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="zone"):
        write_time(datetime(2026, 5, 1))  # noqa: DTZ001 - that is what is refused


def _chain(drafts: list[Draft]) -> list[Entry]:
    entries: list[Entry] = []
    head = Head()
    for said in drafts:
        repeat = 0
        while any(make_id(said, repeat) == entry.id for entry in entries):
            repeat += 1
        entries.append(chain(said, head, make_id(said, repeat)))
        head = Head(seq=entries[-1].seq, hash=entries[-1].hash)
    return entries


@st.composite
def histories(draw: st.DrawFn) -> list[Entry]:
    """Entries of which each is work, one of four kinds, or the undo of any before it."""
    drafts: list[Draft] = []
    for place in range(draw(st.integers(0, 12))):
        target = draw(st.integers(-4, place - 1))
        if target < 0:
            drafts.append(draft(target))
        else:
            facts = {"entry": _chain(drafts)[target].id}
            drafts.append(Draft(vessel="skua", kind="undo", facts=facts, recorded_at=NOON))
    return _chain(drafts)


@given(histories())
def test_entry_stands_while_no_standing_undo_names_it(entries: list[Entry]) -> None:
    def stands(entry: Entry) -> bool:
        undos = (other for other in entries if other.facts.get("entry") == entry.id)
        return not any(stands(undo) for undo in undos)

    standing = [entry for entry in entries if entry.kind == "done" and stands(entry)]
    said = [write_facts(entry.facts) for entry in standing]
    first = [entry for place, entry in enumerate(standing) if said[place] not in said[:place]]
    assert list(correct(entries)) == first


@given(histories(), st.data())
def test_entry_changed_in_any_part_is_no_longer_whole(
    entries: list[Entry], data: st.DataObject
) -> None:
    from dataclasses import replace

    if not entries:
        return
    entry = data.draw(st.sampled_from(entries))
    assert find_own_break(entry) == ""
    changed = data.draw(
        st.sampled_from(
            [
                {"seq": entry.seq + 1},
                {"id": "0" * 12},
                {"vessel": "tern"},
                {"kind": "read"},
                {"facts": {**entry.facts, "note": "more"}},
                {"recorded_at": entry.recorded_at + timedelta(microseconds=1)},
                {"previous": "1" * 64},
                {"hash": "1" * 64},
            ]
        )
    )
    assert find_own_break(replace(entry, **changed)) != ""


def test_entry_keeps_its_time_in_utc() -> None:
    at = datetime(2026, 5, 1, 14, tzinfo=timezone(timedelta(hours=2)))
    said = Draft(vessel="skua", kind="done", facts={}, recorded_at=at)
    entry = chain(said, Head(), make_id(said))
    assert entry.recorded_at == datetime(2026, 5, 1, 12, tzinfo=UTC)
    assert entry.recorded_at.tzinfo is UTC

"""Entries of the logbook: what one says, how each is chained to the one before, which stand.

Chain: each hash is SHA-256 (FIPS 180-4) over the hash before it and all else as canonical JSON.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from hashlib import sha256
from types import MappingProxyType
from typing import Any

KINDS = ("done", "read", "undo")
GENESIS = "0" * 64  # stands before the first entry
ID_DIGITS = 12  # of 100,000 entries two share them once in 50,000 logbooks; then the second yields
MOST_REPEATS = 1000  # of one record taken back and made again

_WRITER = json.JSONEncoder(
    sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
)

Scalar = str | int | float | bool | None
FactValue = Scalar | tuple[Scalar, ...]
Facts = Mapping[str, FactValue]


@dataclass(frozen=True, kw_only=True, slots=True)
class Draft:
    """What is to be recorded. recorded_at carries a zone; the caller reads the clock."""

    vessel: str
    kind: str
    facts: Facts = field(hash=False)
    recorded_at: datetime


@dataclass(frozen=True, kw_only=True, slots=True)
class Entry:
    """One line of the logbook. seq counts from 1; recorded_at is in UTC and may go backwards.

    id is made of the facts alone, so that the same record has the same id in every logbook.
    """

    seq: int
    id: str
    vessel: str
    kind: str
    facts: Facts = field(hash=False)
    recorded_at: datetime
    previous: str
    hash: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Head:
    """The end of the chain: how many entries there are, and the hash of the last."""

    seq: int = 0
    hash: str = GENESIS


@dataclass(frozen=True, kw_only=True, slots=True)
class Break:
    """The first entry that is not as it was recorded, and what is wrong with it."""

    seq: int
    id: str
    words: str

    def __str__(self) -> str:
        """Say it in one sentence."""
        name = f"entry {self.seq} ({self.id})" if self.id else f"entry {self.seq}"
        return f"{name} {self.words}"


def write_json(value: object) -> str:
    """Write canonical JSON: keys sorted, no spaces, finite numbers, floats as repr gives them.

    Raises ValueError on a number that is not finite or a text that UTF-8 cannot hold.
    """
    text = _WRITER.encode(value)
    text.encode()  # half of a surrogate pair is no text
    return text


def write_facts(facts: Facts) -> str:
    """Write facts as canonical JSON. Raises ValueError as write_json does."""
    return write_json(dict(facts))


def read_facts(text: str) -> Facts:
    """Read facts written as JSON. Raises ValueError on anything but a flat table."""
    try:
        data = json.loads(text, parse_constant=_refuse_constant)
    except RecursionError:
        raise ValueError("is nested too deeply") from None
    return freeze_facts(data)


def freeze_facts(data: Any) -> Facts:
    """Make facts of a parsed table: lists become tuples. Raises ValueError on one inside one."""
    if not isinstance(data, dict):
        raise ValueError("facts are not a table")
    return MappingProxyType({key: _freeze(value) for key, value in data.items()})


def _freeze(value: Any) -> FactValue:
    if isinstance(value, list | tuple):
        items = tuple(value)
        if any(isinstance(item, list | tuple | dict) for item in items):
            raise ValueError("a list holds a list or a table")
        return items
    if isinstance(value, dict):
        raise ValueError("a fact is a table")
    return value  # type: ignore[no-any-return]


def _refuse_constant(name: str) -> Any:
    raise ValueError(f"{name} is no number")


def write_time(at: datetime) -> str:
    """Write an instant in UTC to the microsecond, always equally long.

    Raises ValueError on one without a zone.
    """
    if at.tzinfo is None:
        raise ValueError(f"{at} has no zone")
    return at.astimezone(UTC).isoformat(timespec="microseconds").removesuffix("+00:00") + "Z"


def read_time(text: str) -> datetime:
    """Read an instant as write_time writes it. Raises ValueError on any other form."""
    at = datetime.fromisoformat(text)
    if at.tzinfo is None or write_time(at) != text:
        raise ValueError(f"{text} is not YYYY-MM-DDTHH:MM:SS.ffffffZ")
    return at.astimezone(UTC)


def make_id(draft: Draft, repeat: int = 0) -> str:
    """Make the id of a record: a short hash of its facts. repeat: how often it was made before.

    Raises ValueError as write_json does.
    """
    said = write_json([draft.vessel, draft.kind, dict(draft.facts), repeat])
    return sha256(said.encode()).hexdigest()[:ID_DIGITS]


def chain(draft: Draft, head: Head, name: str) -> Entry:
    """Make the entry that follows head under an id. Raises ValueError as write_json does."""
    seq = head.seq + 1
    return Entry(
        seq=seq,
        id=name,
        vessel=draft.vessel,
        kind=draft.kind,
        facts=freeze_facts(dict(draft.facts)),
        recorded_at=draft.recorded_at.astimezone(UTC),
        previous=head.hash,
        hash=hash_said(draft, seq=seq, name=name, previous=head.hash),
    )


def hash_said(draft: Draft, *, seq: int, name: str, previous: str) -> str:
    """Hash an entry: SHA-256 over the hash before it and everything else as canonical JSON."""
    said = {
        "facts": dict(draft.facts),
        "id": name,
        "kind": draft.kind,
        "recorded_at": write_time(draft.recorded_at),
        "seq": seq,
        "vessel": draft.vessel,
    }
    return sha256((previous + write_json(said)).encode()).hexdigest()


def draft_of(entry: Entry) -> Draft:
    """Give what an entry says, without its place in the chain."""
    return Draft(
        vessel=entry.vessel, kind=entry.kind, facts=entry.facts, recorded_at=entry.recorded_at
    )


def find_break(entry: Entry, head: Head) -> str:
    """Say in words why an entry does not follow head; "" when it does."""
    if entry.seq != head.seq + 1:
        return f"stands where entry {head.seq + 1} should: entries are missing"
    if entry.previous != head.hash:
        return "does not follow the entry before it"
    return find_own_break(entry)


def find_own_break(entry: Entry) -> str:
    """Say in words what is wrong with an entry taken alone; "" when nothing is."""
    draft = draft_of(entry)
    right = hash_said(draft, seq=entry.seq, name=entry.id, previous=entry.previous)
    if right != entry.hash:
        return "is not what was recorded: its hash does not match"
    if not any(make_id(draft, repeat) == entry.id for repeat in range(MOST_REPEATS)):
        return "has an id that is not made of its facts"
    return ""


def find_undone(undos: Iterable[tuple[str, str]]) -> frozenset[str]:
    """Find the ids taken back. undos: id and target of every undo, the newest first.

    An undo that is itself undone takes nothing back.
    """
    undone: set[str] = set()
    for name, target in undos:
        if name not in undone:
            undone.add(target)
    return frozenset(undone)


def correct(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Give the corrected view of entries in order: what was done and read and still stands.

    Undoing an undo puts the first entry back. Facts that stand twice, because they were recorded
    again in between, are given once.
    """
    rows = tuple(entries)
    undos = [(row.id, str(row.facts["entry"])) for row in reversed(rows) if row.kind == "undo"]
    undone = find_undone(undos)
    kept: dict[tuple[str, str, str], Entry] = {}
    for row in rows:
        if row.kind != "undo" and row.id not in undone:
            kept.setdefault((row.vessel, row.kind, write_facts(row.facts)), row)
    return tuple(kept.values())

"""A logbook's tables as a book: read page by page, written by one pen at a time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from sqlalchemy import Connection

from upkeep.errors import UnknownNameError, UpkeepError
from upkeep.logbook.database import DamagedError, Database
from upkeep.logbook.entries import (
    KINDS,
    MOST_REPEATS,
    Break,
    Draft,
    Entry,
    Head,
    chain,
    find_break,
    find_undone,
    make_id,
    write_facts,
)
from upkeep.logbook.queries import (
    EntryRow,
    add_entry,
    find_named,
    read_entry,
    read_head,
    read_page,
    read_undos,
    replace_feed_state,
    to_entry,
)

PAGE = 1000  # entries held at a time while reading, about 1 MB
_MOST_SEQ = 2**31 - 1  # what the column holds in PostgreSQL


class Pen:
    """The one writer of a logbook while its transaction is open."""

    def __init__(self, connection: Connection, seen: Head) -> None:
        """Take the connection that holds the lock, and the chain's end as last seen."""
        self._connection = connection
        self.head = seen

    def record(self, draft: Draft) -> tuple[Entry, bool]:
        """Add an entry, unless one of the same facts stands; tell whether it is new.

        Raises UpkeepError on an undo that names no entry of its vessel.
        """
        self._check(draft)
        made = chain(draft, self.head, make_id(draft))
        if self._add(made):
            return made, True
        self.head = read_head(self._connection)
        undone = find_undone(read_undos(self._connection, self.head.seq))
        for repeat in range(MOST_REPEATS):
            name = make_id(draft, repeat)
            there = find_named(self._connection, name)
            if there is None:
                return self._append(draft, name), True
            if _says_the_same(there, draft) and name not in undone:
                return there, False
        raise UpkeepError("this was recorded and taken back too often; write a note with it")

    def record_as(self, draft: Draft, name: str) -> tuple[Entry, bool]:
        """Add an entry under the id it has elsewhere, unless it is here, standing or taken back.

        Raises as record.
        """
        there = find_named(self._connection, name)
        if there is None:
            self._check(draft)
            return self._append(draft, name), True
        if not _says_the_same(there, draft):
            raise UpkeepError(f"entry {name} says something else here")
        return there, False

    def _append(self, draft: Draft, name: str) -> Entry:
        made = chain(draft, self.head, name)
        if not self._add(made):
            self.head = read_head(self._connection)
            made = chain(draft, self.head, name)
            if not self._add(made):
                raise UpkeepError(f"the logbook does not take entry {name}")
        return made

    def _add(self, made: Entry) -> bool:
        undoes = str(made.facts["entry"]) if made.kind == "undo" else None
        if not add_entry(self._connection, made, undoes=undoes):
            return False
        self.head = Head(seq=made.seq, hash=made.hash)
        return True

    def _check(self, draft: Draft) -> None:
        if draft.kind not in KINDS:
            raise ValueError(draft.kind)
        if draft.kind != "undo":
            return
        target = find_named(self._connection, str(draft.facts["entry"]))
        if target is None:
            raise UnknownNameError(f"there is no entry {draft.facts['entry']} to undo")
        if target.vessel != draft.vessel:
            raise UpkeepError(f"entry {target.id} is {target.vessel}'s, not {draft.vessel}'s")

    def replace_feed_states(self, states: Mapping[str, str]) -> None:
        """Put each vessel's state in the place of the one before."""
        for vessel, content in states.items():
            replace_feed_state(self._connection, vessel, content)


class Ledger:
    """A logbook's database, read page by page and written by one pen at a time."""

    def __init__(self, database: Database) -> None:
        """Take an open database."""
        self._database = database
        self._seen = Head()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Open a transaction that sees one state."""
        with self._database.reading() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Pen]:
        """Hold the pen; what it wrote is on the disk once this ends without an error."""
        with self._database.writing() as connection:
            pen = Pen(connection, self._seen)
            yield pen
        self._seen = pen.head

    def read(self, vessel: str | None, last: int) -> Iterator[Entry]:
        """Stream the entries up to one, in order."""
        return map(to_entry, self._read_rows(vessel, last))

    def _read_rows(self, vessel: str | None, last: int) -> Iterator[EntryRow]:
        after = 0
        while rows := self._read_page(vessel, after, last, PAGE):
            yield from rows
            after = rows[-1].seq

    def _read_page(self, vessel: str | None, after: int, last: int, most: int) -> list[EntryRow]:
        with self._database.reading() as connection:
            return read_page(connection, vessel, after, last, most)

    def verify(self) -> Break | None:
        """Follow the chain, then look at the file itself; give the first fault."""
        head = Head()
        try:
            for row in self._scan():
                words = _find_fault(row, head)
                if words:
                    name = row.id if isinstance(row.id, str) else ""
                    return Break(seq=head.seq + 1, id=name, words=words)
                head = Head(seq=row.seq, hash=row.hash)
            words = self._database.find_damage()
        except DamagedError as error:
            return Break(seq=head.seq + 1, id="", words=f"cannot be read: {error}")
        return Break(seq=0, id="", words=f"is damaged: {words}") if words else None

    def _scan(self) -> Iterator[EntryRow]:
        """Stream whole rows in ever smaller pages where one cannot be read, up to that one."""
        after, most = 0, PAGE
        while True:
            try:
                rows = self._read_page(None, after, _MOST_SEQ, most)
            except DamagedError:
                if most == 1:
                    raise
                most = max(1, most // 10)
                continue
            if not rows:
                return
            yield from rows
            after = rows[-1].seq

    def close(self) -> None:
        """Give the database back."""
        self._database.close()


def _says_the_same(entry: Entry, draft: Draft) -> bool:
    """Compare all but the time of recording."""
    said = (entry.vessel, entry.kind, write_facts(entry.facts))
    return said == (draft.vessel, draft.kind, write_facts(draft.facts))


def _find_fault(row: EntryRow, head: Head) -> str:
    try:
        entry = read_entry(row)
        words = find_break(entry, head)
    except ValueError as error:
        return f"is not what was recorded: {error}"
    target = entry.facts.get("entry") if entry.kind == "undo" else None
    if not words and row.undoes != target:
        return "is filed as the undo of another entry"
    return words

"""The logbook of a fleet: entries that only ever grow, and what subscribers were last given.

The database's library is imported once there is a database.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

from upkeep.errors import UnknownNameError, UpkeepError
from upkeep.logbook.entries import Break, Draft, Entry, Facts, Head, find_undone, write_facts
from upkeep.naming import show

if TYPE_CHECKING:
    from upkeep.logbook.ledger import Ledger, Pen

FILE = "logbook.sqlite"


class Logbook:
    """An open logbook; one that does not exist yet reads as empty."""

    def __init__(self, ledger: Ledger | None, *, may_write: bool) -> None:
        """Take the tables; None when there are none to read."""
        self._ledger = ledger
        self._may_write = may_write

    def __enter__(self) -> Logbook:
        """Use it until the block ends."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close it."""
        self.close()

    def record(
        self, *, vessel: str, kind: str, facts: Facts, recorded_at: datetime
    ) -> tuple[Entry, bool]:
        """Add one entry, on the disk when this returns; tell whether it is new.

        The same facts as an entry that stands add nothing and give that one. kind is done, read
        or undo; the facts of an undo are {"entry": id}. recorded_at carries a zone. Raises
        UpkeepError when the world refuses or an undo names no entry of this vessel, ValueError
        on facts that are no canonical JSON; nothing is added then.
        """
        draft = Draft(vessel=vessel, kind=kind, facts=facts, recorded_at=recorded_at)
        with self.writing() as pen:
            return pen.record(draft)

    def record_all(self, drafts: Iterable[Draft]) -> tuple[tuple[Entry, bool], ...]:
        """Add entries in one step, all or none; as record for each."""
        with self.writing() as pen:
            return tuple(pen.record(draft) for draft in drafts)

    def undo(self, entry: Entry, *, recorded_at: datetime) -> tuple[Entry, bool]:
        """Take an entry back, or put one back by undoing its undo; as record."""
        facts: Facts = {"entry": entry.id}
        return self.record(vessel=entry.vessel, kind="undo", facts=facts, recorded_at=recorded_at)

    @contextmanager
    def writing(self) -> Iterator[Pen]:
        """Hold the pen for several entries that belong together: all are written, or none."""
        if self._ledger is None or not self._may_write:
            raise UpkeepError("the logbook is open for reading only")
        with self._ledger.writing() as pen:
            yield pen

    def head(self) -> Head:
        """Give the end of the chain."""
        if self._ledger is None:
            return Head()
        from upkeep.logbook.queries import read_head

        with self._ledger.reading() as connection:
            return read_head(connection)

    def entries(self, vessel: str | None = None) -> Iterator[Entry]:
        """Stream the entries in order, of one vessel or all, a page at a time in memory."""
        if self._ledger is not None:
            yield from self._ledger.read(vessel, self.head().seq)

    def standing(self, vessel: str | None = None) -> Iterator[Entry]:
        """Stream the corrected view, which correct() defines: what was done and read and stands."""
        if self._ledger is None:
            return
        from upkeep.logbook.queries import read_head, read_undos

        with self._ledger.reading() as connection:
            last = read_head(connection).seq
            undos = read_undos(connection, last)
        undone, touched = find_undone(undos), {target for _, target in undos}
        twins: set[tuple[str, str, str]] = set()  # of entries put back, which may stand again
        for entry in self._ledger.read(vessel, last):
            if entry.kind == "undo" or entry.id in undone:
                continue
            if twins or entry.id in touched:
                said = (entry.vessel, entry.kind, write_facts(entry.facts))
                if said in twins:
                    continue
                if entry.id in touched:
                    twins.add(said)
            yield entry

    def find(self, beginning: str) -> Entry:
        """Find the entry whose id begins so.

        Raises UnknownNameError when none does, UpkeepError when several do.
        """
        found = self._find(beginning) if beginning else []
        if not found:
            raise UnknownNameError(f"there is no entry {show(beginning)}; walkround log lists them")
        if len(found) > 1:
            names = ", ".join(entry.id for entry in found)
            raise UpkeepError(f"several entries begin with {show(beginning)}: {names}")
        return found[0]

    def _find(self, beginning: str) -> list[Entry]:
        if self._ledger is None:
            return []
        from upkeep.logbook.queries import find_beginning

        with self._ledger.reading() as connection:
            return find_beginning(connection, beginning.lower())

    def find_named(self, name: str) -> Entry | None:
        """Find the entry of an id; None when there is none."""
        if self._ledger is None:
            return None
        from upkeep.logbook.queries import find_named

        with self._ledger.reading() as connection:
            return find_named(connection, name)

    def verify(self) -> Break | None:
        """Follow the whole chain; give the first entry that is not as recorded, with words.

        seq 0 means that all entries are whole but the file around them is damaged.
        """
        return None if self._ledger is None else self._ledger.verify()

    def feed_state(self, vessel: str) -> str | None:
        """Give what was last kept for a vessel's feed; None when nothing was."""
        if self._ledger is None:
            return None
        from upkeep.logbook.queries import read_feed_state

        with self._ledger.reading() as connection:
            return read_feed_state(connection, vessel)

    def replace_feed_states(self, states: Mapping[str, str]) -> None:
        """Keep a text for each vessel's feed in the place of the one before, all in one step."""
        with self.writing() as pen:
            pen.replace_feed_states(states)

    def close(self) -> None:
        """Give the database back; SQLite's own files beside it go."""
        if self._ledger is not None:
            self._ledger.close()


def open_logbook(folder: Path | None, url: str | None, *, write: bool) -> Logbook:
    """Open a fleet's logbook: in PostgreSQL when there is a url, else logbook.sqlite in folder.

    Writing makes it or brings its tables up to date; reading changes nothing, and a logbook that
    does not exist reads as empty. Raises UpkeepError when the disk, the server or the file
    refuses, or a newer walkround has written it.
    """
    if url is None and folder is None:
        raise ValueError("neither a folder nor a url")
    path = folder / FILE if folder is not None else Path(FILE)
    if url is None and not write and not path.exists():
        return Logbook(None, may_write=False)
    from upkeep.logbook import database
    from upkeep.logbook.ledger import Ledger

    if url is not None:
        opened = database.open_url(url, write=write)
    elif write:
        opened = database.open_file(path)
    else:
        opened = database.open_file_for_reading(path)
    return Logbook(Ledger(opened) if opened else None, may_write=write)

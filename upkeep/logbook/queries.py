"""The questions asked of the logbook's tables, built once by SQLAlchemy Core."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Compiled, Connection, Row, bindparam, delete, exists, func, insert, select

from upkeep.errors import UpkeepError
from upkeep.logbook.entries import (
    GENESIS,
    Entry,
    Head,
    read_facts,
    read_time,
    write_facts,
    write_time,
)
from upkeep.logbook.tables import entry as table
from upkeep.logbook.tables import feed_state

EntryRow = Row[*tuple[Any, ...]]
_SHOWN = 5  # candidates named when an id's beginning fits several

_c = table.c
_WHOLE = (_c.seq, _c.id, _c.vessel, _c.kind, _c.facts, _c.recorded_at, _c.previous, _c.hash)
_HEAD = select(_c.seq, _c.hash).order_by(_c.seq.desc()).limit(1)
_NAMED = select(*_WHOLE).where(_c.id == bindparam("named"))
_BEGINNING = (
    select(*_WHOLE)
    .where(_c.id >= bindparam("beginning"), _c.id < bindparam("end"))
    .order_by(_c.id)
    .limit(_SHOWN + 1)
)
_ALL = (
    select(*_WHOLE, _c.undoes)
    .where(_c.seq > bindparam("after"), _c.seq <= bindparam("last"))
    .order_by(_c.seq)
    .limit(bindparam("most"))
)
_OF_VESSEL = _ALL.where(_c.vessel == bindparam("vessel"))
_UNDOS = (
    select(_c.id, _c.undoes)
    .where(_c.undoes.is_not(None), _c.seq <= bindparam("last"))
    .order_by(_c.seq.desc())
)
_LAST_HASH = select(_c.hash).order_by(_c.seq.desc()).limit(1).scalar_subquery()
_NEW = {column.name: bindparam(f"new_{column.name}", type_=column.type) for column in _c}
# Adds nothing where the chain goes on from another entry or the id is taken: one statement tells
# and writes.
_ADD = insert(table).from_select(
    list(_NEW),
    select(*_NEW.values()).where(
        func.coalesce(_LAST_HASH, GENESIS) == _NEW["previous"],
        ~exists().where(_c.id == _NEW["id"]),
    ),
)
_PLAIN: dict[str, Compiled] = {}  # _ADD by dialect
_FEED_STATE = select(feed_state.c.content).where(feed_state.c.vessel == bindparam("of"))
_DROP_FEED_STATE = delete(feed_state).where(feed_state.c.vessel == bindparam("of"))
_ADD_FEED_STATE = insert(feed_state)


def add_entry(connection: Connection, made: Entry, *, undoes: str | None) -> bool:
    """Add an entry where it follows the last one and its id is free; tell whether it did.

    Raises ValueError as write_facts does.
    """
    values = {
        "new_seq": made.seq,
        "new_id": made.id,
        "new_vessel": made.vessel,
        "new_kind": made.kind,
        "new_facts": write_facts(made.facts),
        "new_recorded_at": write_time(made.recorded_at),
        "new_previous": made.previous,
        "new_hash": made.hash,
        "new_undoes": undoes,
    }
    return _run_plain(connection, values) == 1


def _run_plain(connection: Connection, values: dict[str, Any]) -> int:
    """Run _ADD as text, which halves what it costs; give the number of rows added."""
    dialect = connection.dialect.name
    if dialect not in _PLAIN:
        _PLAIN[dialect] = _ADD.compile(dialect=connection.dialect)
    plain = _PLAIN[dialect]
    named = {**plain.params, **values}
    ordered = getattr(plain, "positiontup", None)
    given = tuple(named[name] for name in ordered) if ordered else named
    keep = {"preserve_rowcount": True}
    return connection.exec_driver_sql(str(plain), given, execution_options=keep).rowcount


def read_page(
    connection: Connection, vessel: str | None, after: int, last: int, most: int
) -> list[EntryRow]:
    """Read the next rows after one and up to another, of one vessel or all."""
    values = {"after": after, "last": last, "most": most}
    if vessel is None:
        return list(connection.execute(_ALL, values))
    return list(connection.execute(_OF_VESSEL, {**values, "vessel": vessel}))


def replace_feed_state(connection: Connection, vessel: str, content: str) -> None:
    """Put a vessel's state in the place of the one before."""
    connection.execute(_DROP_FEED_STATE, {"of": vessel})
    connection.execute(_ADD_FEED_STATE, {"vessel": vessel, "content": content})


def read_head(connection: Connection) -> Head:
    """Read the end of the chain."""
    row = connection.execute(_HEAD).first()
    return Head(seq=row.seq, hash=row.hash) if row else Head()


def find_named(connection: Connection, name: str) -> Entry | None:
    """Find the entry of an id."""
    rows = list(connection.execute(_NAMED, {"named": name}))
    return to_entry(rows[0]) if rows else None


def find_beginning(connection: Connection, beginning: str) -> list[Entry]:
    """Find the first entries whose id begins so, in the order of their ids."""
    values = {"beginning": beginning, "end": beginning + "g"}  # ids are hexadecimal
    return [to_entry(row) for row in connection.execute(_BEGINNING, values)]


def read_undos(connection: Connection, last: int) -> list[tuple[str, str]]:
    """Read every undo up to an entry and what it takes back, the newest first."""
    return [(row.id, row.undoes) for row in connection.execute(_UNDOS, {"last": last})]


def read_feed_state(connection: Connection, vessel: str) -> str | None:
    """Read what a vessel's subscribers were last given."""
    return connection.execute(_FEED_STATE, {"of": vessel}).scalar_one_or_none()


def to_entry(row: EntryRow) -> Entry:
    """Make an entry of its row. Raises UpkeepError when it is damaged."""
    try:
        return read_entry(row)
    except ValueError as error:
        raise UpkeepError(f"entry {row.seq} of the logbook is damaged: {error}") from error


def read_entry(row: EntryRow) -> Entry:
    """Make an entry of its row. Raises ValueError when it is damaged."""
    if not all(type(value) is str for value in tuple(row)[1:8]):
        raise ValueError("a text is missing")
    return Entry(
        seq=row.seq,
        id=row.id,
        vessel=row.vessel,
        kind=row.kind,
        facts=read_facts(row.facts),
        recorded_at=read_time(row.recorded_at),
        previous=row.previous,
        hash=row.hash,
    )

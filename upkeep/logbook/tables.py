"""The logbook's tables as SQLAlchemy Core knows them, and the versions they have had."""

from __future__ import annotations

from sqlalchemy import Column, Index, Integer, MetaData, Table, Text

VERSIONS = ("0001",)  # of the tables, oldest first; each is a file in migrations/versions

metadata = MetaData()
# Ids are compared byte by byte, so that those beginning alike stand together in every country.
_ID = Text().with_variant(Text(collation="C"), "postgresql")
# undoes repeats what the facts of an undo say, so that to find them is not to read everything.
entry = Table(
    "entry",
    metadata,
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("id", _ID, nullable=False, unique=True),
    Column("vessel", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("facts", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("previous", Text, nullable=False),
    Column("hash", Text, nullable=False),
    Column("undoes", _ID),
)
Index("entry_of_vessel", entry.c.vessel, entry.c.seq)
Index(
    "entry_undoes",
    entry.c.seq,
    sqlite_where=entry.c.undoes.is_not(None),
    postgresql_where=entry.c.undoes.is_not(None),
)
feed_state = Table(
    "feed_state",
    metadata,
    Column("vessel", Text, primary_key=True),
    Column("content", Text, nullable=False),
)

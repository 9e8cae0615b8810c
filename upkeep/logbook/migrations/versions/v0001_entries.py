"""Entries that only ever grow, and what subscribers were last given."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

REFUSED = "entries are never changed or removed; record a correction"
OUT_OF_LINE = "an entry must follow the last one"

SQLITE = (
    f"""CREATE TRIGGER entry_no_update BEFORE UPDATE ON entry
    BEGIN SELECT RAISE(ABORT, '{REFUSED}'); END""",
    f"""CREATE TRIGGER entry_no_delete BEFORE DELETE ON entry
    BEGIN SELECT RAISE(ABORT, '{REFUSED}'); END""",
    # Refuses INSERT OR REPLACE too, which fires no trigger of DELETE.
    f"""CREATE TRIGGER entry_in_line BEFORE INSERT ON entry
    WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM entry)
    OR NEW.previous IS NOT coalesce(
        (SELECT hash FROM entry ORDER BY seq DESC LIMIT 1), '{"0" * 64}')
    BEGIN SELECT RAISE(ABORT, '{OUT_OF_LINE}'); END""",
)
POSTGRESQL = (
    f"""CREATE FUNCTION entry_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN RAISE EXCEPTION '{REFUSED}'; END $$""",
    """CREATE TRIGGER entry_no_update BEFORE UPDATE OR DELETE ON entry
    FOR EACH ROW EXECUTE FUNCTION entry_refuse()""",
    """CREATE TRIGGER entry_no_truncate BEFORE TRUNCATE ON entry
    FOR EACH STATEMENT EXECUTE FUNCTION entry_refuse()""",
    f"""CREATE FUNCTION entry_follow() RETURNS trigger LANGUAGE plpgsql AS $$
    DECLARE last record;
    BEGIN
        SELECT seq, hash INTO last FROM entry ORDER BY seq DESC LIMIT 1;
        IF NEW.seq IS DISTINCT FROM coalesce(last.seq, 0) + 1
            OR NEW.previous IS DISTINCT FROM coalesce(last.hash, repeat('0', 64)) THEN
            RAISE EXCEPTION '{OUT_OF_LINE}';
        END IF;
        RETURN NEW;
    END $$""",
    """CREATE TRIGGER entry_in_line BEFORE INSERT ON entry
    FOR EACH ROW EXECUTE FUNCTION entry_follow()""",
)


def upgrade() -> None:
    """Make the tables, their indexes and the triggers that keep entries as they are."""
    text = sa.Text()
    name = text.with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "entry",
        sa.Column("seq", sa.Integer(), primary_key=True, autoincrement=False),
        sa.Column("id", name, nullable=False, unique=True),
        *(sa.Column(key, text, nullable=False) for key in ("vessel", "kind", "facts")),
        *(sa.Column(key, text, nullable=False) for key in ("recorded_at", "previous", "hash")),
        sa.Column("undoes", name),
    )
    op.create_index("entry_of_vessel", "entry", ["vessel", "seq"])
    undo = sa.text("undoes IS NOT NULL")
    op.create_index("entry_undoes", "entry", ["seq"], sqlite_where=undo, postgresql_where=undo)
    op.create_table(
        "feed_state",
        sa.Column("vessel", text, primary_key=True),
        sa.Column("content", text, nullable=False),
    )
    for statement in SQLITE if op.get_bind().dialect.name == "sqlite" else POSTGRESQL:
        op.execute(statement)

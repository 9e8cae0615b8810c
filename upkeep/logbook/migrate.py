"""Brings a logbook's tables to the version this program knows, and refuses newer ones."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, inspect, text

from upkeep.errors import UpkeepError
from upkeep.logbook.tables import VERSIONS
from upkeep.naming import show


def find_version(connection: Connection) -> str:
    """Find the version of the tables; "" when there are none yet.

    Raises UpkeepError when a newer program made them.
    """
    if not inspect(connection).has_table("alembic_version"):
        return ""
    rows = [str(row[0]) for row in connection.execute(text("SELECT * FROM alembic_version"))]
    if not rows:
        return ""
    for version in rows:
        if version not in VERSIONS:
            raise UpkeepError(
                f"the logbook was written by a newer walkround (its tables are of version "
                f"{show(version)}, this one knows {VERSIONS[-1]}); update walkround, or bring "
                "back the copy made before the other one wrote"
            )
    return max(rows)


def migrate(connection: Connection) -> None:
    """Run the steps that are missing, inside the transaction that is open: all of them or none."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    folder = str(Path(__file__).with_name("migrations"))
    config.set_main_option("script_location", folder.replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")

"""walkround new: a fleet folder with one vessel to describe, ready to check and publish."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from uuid import uuid4

import click

from upkeep.cli import options
from upkeep.documents import write_atomic
from upkeep.errors import UpkeepError
from upkeep.model import Field
from upkeep.records import tables
from upkeep.schema import describe

_STARTER = Path(__file__).parents[1] / "templates" / "new"


@click.command()
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@options.today_option
def new(folder: Path, today: date) -> None:
    """Make a fleet."""
    if folder.exists() and any(folder.iterdir()):
        raise UpkeepError(f"{folder} is not empty; name a folder that does not exist yet")
    for name in ("fleet.toml", "vessels/first-boat.toml"):
        text = (_STARTER / Path(name).name).read_text("utf-8")
        text = text.replace("{{key}}", str(uuid4())).replace("{{today}}", today.isoformat())
        if name == "fleet.toml":
            text += _reference("water.ID", tables.WATER)
        else:
            text += _reference("vessel", tables.VESSEL) + _reference("owner", tables.OWNER)
            text += _reference("[component]", (*tables.COMPONENT, tables.INSTALLED))
        write_atomic(folder / name, text.encode())
    click.echo(f"{folder / 'vessels' / 'first-boat.toml'} describes one boat; change it to yours.")
    click.echo(f"Then: walkround check {folder} && walkround publish {folder} --to output")


def _reference(section: str, rows: Sequence[Field]) -> str:
    return "\n".join(["", "", f"# Every key of [{section}]:", *_lines(rows), ""])


def _lines(rows: Sequence[Field]) -> Iterator[str]:
    for row in rows:
        need = "" if row.required else ", may be absent"
        yield f"#   {row.key}: {row.text}; {describe(row).removeprefix('write ')}{need}"

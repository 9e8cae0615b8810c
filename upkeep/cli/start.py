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
from upkeep.naming import is_id
from upkeep.records import tables
from upkeep.schema import describe

_FIRST = "first-boat"
_STARTER = Path(__file__).parents[1] / "templates" / "new"


@click.command()
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@options.vessel_option
@options.today_option
@options.format_option("text", "json", "csv")
def new(folder: Path, vessels: tuple[str, ...], today: date, form: str) -> None:
    """Make a fleet."""
    if folder.exists() and any(folder.iterdir()):
        raise UpkeepError(f"{folder} is not empty; name a folder that does not exist yet")
    for name in vessels:
        if not is_id(name):
            fix = "name a vessel in lower-case letters, digits and hyphens"
            raise UpkeepError(f"{name} is no id; {fix}")
    text = _read_starter("fleet.toml", today) + _reference("water.ID", tables.WATER)
    files = {"fleet.toml": text}
    names = tuple(dict.fromkeys(vessels)) or (_FIRST,)
    for name in names:
        files[f"vessels/{name}.toml"] = _describe_vessel(name, today)
    for path, content in files.items():
        write_atomic(folder / path, content.encode())
    what = "describes one boat; change it to yours"
    said = "\n".join(
        [
            *(f"{folder / 'vessels' / name}.toml {what}." for name in names),
            f"Then: walkround check {folder} && walkround publish {folder} --to output",
        ]
    )
    options.print_written(form, tuple(files), len(names), (), said)


def _read_starter(name: str, today: date) -> str:
    text = (_STARTER / name).read_text("utf-8")
    return text.replace("{{key}}", str(uuid4())).replace("{{today}}", today.isoformat())


def _describe_vessel(name: str, today: date) -> str:
    text = _read_starter(f"{_FIRST}.toml", today)
    if name != _FIRST:
        text = text.replace(f'"{_FIRST}"', f'"{name}"')
        text = text.replace('"First boat"', f'"{name.replace("-", " ").capitalize()}"')
    text += _reference("vessel", tables.VESSEL) + _reference("owner", tables.OWNER)
    return text + _reference("[component]", (*tables.COMPONENT, tables.INSTALLED))


def _reference(section: str, rows: Sequence[Field]) -> str:
    return "\n".join(["", "", f"# Every key of [{section}]:", *_lines(rows), ""])


def _lines(rows: Sequence[Field]) -> Iterator[str]:
    for row in rows:
        need = "" if row.required else ", may be absent"
        yield f"#   {row.key}: {row.text}; {describe(row).removeprefix('write ')}{need}"

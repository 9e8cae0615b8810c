"""A vessel's handbook: its content, kept for each signed edition, and its pages."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

from upkeep import __version__
from upkeep.dates import Stamp
from upkeep.documents import is_inside, write_atomic
from upkeep.errors import UpkeepError
from upkeep.handbook import as_of_day, build_book
from upkeep.handbook.blocks import FORMAT, to_data
from upkeep.markup import parse_markdown
from upkeep.model import Vessel
from upkeep.publish.files import NOTHING, Made, Order, hash_bytes, write_changed
from upkeep.records import LoadedFleet
from upkeep.records.installed import say_warnings

SEAL = "seal"  # in an edition's file: the hash of all else
_TEMPLATE_ENDINGS = (".html", ".typ", ".css")


@dataclass(frozen=True, kw_only=True, slots=True)
class Handbook:
    """A vessel's handbook as it stands in the folder: what it was made from, what was written.

    problem: what went wrong although the book was printed; "" when nothing did.
    """

    made: Made
    written: tuple[str, ...]
    problem: str


def write_handbook(
    loaded: LoadedFleet, vessel: Vessel, order: Order, common: str, known: Made = NOTHING
) -> Handbook:
    """Write a vessel's handbook and card unless they stand there already.

    common: of hash_common. known: what the folder remembers of her.
    """
    assert loaded.fleet is not None
    usual: Literal["a4", "letter"] = "letter" if loaded.fleet.units == "us" else "a4"
    paper = order.paper or usual
    names = [f"handbooks/{vessel.id}.html"]
    if order.pdf:
        names += [f"handbooks/{vessel.id}.pdf", f"handbooks/{vessel.id}-card.pdf"]
    if known.stands(order.to, _handbook_key(loaded, vessel, paper, common), names):
        return Handbook(made=known, written=(), problem="")
    content = read_book(loaded, vessel)
    pages = _render(loaded, vessel, content.book, replace(order, paper=paper))
    files = dict(zip(names, pages, strict=True))
    written = tuple(name for name, data in files.items() if write_changed(order.to / name, data))
    made = Made(
        # An edition that could not be kept is tried and told again the next time.
        key="" if content.problem else _handbook_key(loaded, vessel, paper, common),
        files={name: hash_bytes(data) for name, data in files.items()},
        notes=content.notes,
    )
    return Handbook(made=made, written=written, problem=content.problem)


def _render(
    loaded: LoadedFleet, vessel: Vessel, book: Mapping[str, Any], order: Order
) -> list[bytes]:
    from upkeep.render.html import render_handbook
    from upkeep.render.prove import missing_cautions_html, missing_cautions_pdf

    photos = _read_photos(loaded, vessel)
    overrides = _read_overrides(loaded.folder)
    page = render_handbook(book, photos=photos, overrides=overrides)
    _refuse_missing(vessel, "HTML", missing_cautions_html(page, book))
    if not order.pdf or order.paper is None:
        return [page]
    from upkeep.render.pdf import render_card, render_pdf

    created = as_of_day(vessel) or order.today
    printed = render_pdf(
        book, photos=photos, paper=order.paper, created=created, overrides=overrides
    )
    _refuse_missing(vessel, "PDF", missing_cautions_pdf(printed, book))
    card = render_card(book, paper=order.paper, created=created, overrides=overrides)
    first = {**book, "chapters": book["chapters"][:1]}
    _refuse_missing(vessel, "card", missing_cautions_pdf(card, first))
    return [page, printed, card]


def _refuse_missing(vessel: Vessel, form: str, missing: Sequence[str]) -> None:
    if missing:
        raise UpkeepError(
            f"{vessel.id} is not published: her {form} lacks cautions before their steps: "
            + "; ".join(missing)
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class Content:
    """A vessel's book as data, notes to tell, and what went wrong in keeping it."""

    book: Mapping[str, Any]
    notes: tuple[str, ...] = ()
    problem: str = ""


def read_book(loaded: LoadedFleet, vessel: Vessel) -> Content:
    """Give a vessel's book as data.

    A signed edition is made once and kept in the fleet folder; later it is read from there,
    so that what was signed can be printed again. Without an edition it is a draft.
    """
    assert loaded.fleet is not None
    as_of = as_of_day(vessel)
    book: dict[str, Any] = to_data(
        build_book(
            vessel=vessel,
            fleet=loaded.fleet,
            catalogue=loaded.catalogue,
            warnings=say_warnings(loaded, vessel, as_of) if as_of else (),
            parse=parse_markdown,
        )
    )
    path = _edition_path(loaded, vessel)
    if path is None:
        return Content(book=book)
    if not path.exists():
        return Content(book=book, problem=_keep_edition(path, book))
    kept = _read_edition(path)
    if _seal(kept) == _seal(book):
        return Content(book=kept)
    number = vessel.editions[-1].number
    note = (
        f"{vessel.id}: records or texts changed since edition {number} was signed; "
        "add an [[edition]] to print them"
    )
    return Content(book=kept, notes=(note,))


def _edition_path(loaded: LoadedFleet, vessel: Vessel) -> Path | None:
    if not vessel.editions:
        return None
    folder = loaded.folder / "editions"
    if folder.exists() and not is_inside(loaded.folder, folder):
        raise UpkeepError(f"{folder} is a link out of the fleet folder; put the folder itself here")
    return folder / f"{vessel.id}-{vessel.editions[-1].number}.json"


def _keep_edition(path: Path, book: Mapping[str, Any]) -> str:
    kept = {**book, SEAL: _seal(book)}
    try:
        write_atomic(path, json.dumps(kept, ensure_ascii=False, indent=1).encode())
    except UpkeepError as error:
        return f"the edition's content could not be kept: {error}"
    return ""


def _seal(book: Mapping[str, Any]) -> str:
    """Hash a book's content, so that an edition changed after it was signed is noticed."""
    text = json.dumps(book, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def _read_edition(path: Path) -> dict[str, Any]:
    try:
        book: dict[str, Any] = json.loads(path.read_bytes())
        seal = book.pop(SEAL)
        if book["format"] != FORMAT or book["is"] != "Book" or seal != _seal(book):
            raise ValueError(path)
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as error:
        raise UpkeepError(
            f"{path} is not the edition as it was signed; restore it, or sign a new edition"
        ) from error
    return book


def hash_common(loaded: LoadedFleet) -> str:
    """Hash what all handbooks of a fleet are made from: catalogue, templates, shared records."""
    digest = hashlib.sha256(f"{__version__} {FORMAT}".encode())
    for name, document in sorted(loaded.documents.items()):
        if not name.startswith("vessels/"):
            digest.update(name.encode() + b"\0" + document.text.encode() + b"\0")
    _add_files(digest, _template_files(loaded.folder))
    return digest.hexdigest()


def _handbook_key(loaded: LoadedFleet, vessel: Vessel, paper: str, common: str) -> str:
    """Hash everything one handbook is made from: the common part, record, pictures, edition."""
    digest = hashlib.sha256(f"{common} {paper} ".encode())
    digest.update(loaded.documents[vessel.file].text.encode())
    for component in vessel.components.values():  # a stamp may come from the logbook
        for key, value in component.values.items():
            if isinstance(value, Stamp):
                digest.update(f"{component.id} {key} {value.text} ".encode())
    edition = _edition_path(loaded, vessel)
    _add_files(digest, [*_photo_files(loaded, vessel), *([edition] if edition else [])])
    return digest.hexdigest()


def _add_files(digest: hashlib._Hash, paths: Iterable[Path]) -> None:
    for path in paths:
        if path.exists():
            digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")


def _template_files(folder: Path) -> list[Path]:
    built_in = sorted((Path(__file__).parents[1] / "templates").iterdir())
    built_in += sorted((Path(__file__).parents[1] / "catalogue").glob("*.toml"))
    own = sorted((folder / "templates").glob("*")) if (folder / "templates").is_dir() else []
    return [path for path in [*built_in, *own] if path.is_file()]


def _photo_files(loaded: LoadedFleet, vessel: Vessel) -> list[Path]:
    names = sorted({c.photo for c in vessel.components.values() if c.photo})
    return [loaded.folder / "photos" / name for name in names]


def _read_photos(loaded: LoadedFleet, vessel: Vessel) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in _photo_files(loaded, vessel)}


def _read_overrides(folder: Path) -> dict[str, str]:
    own = folder / "templates"
    if not own.is_dir():
        return {}
    for path in sorted(own.iterdir()):
        if not is_inside(folder, path):
            raise UpkeepError(f"{path} is a link out of the fleet folder; put the file itself here")
    try:
        return {
            path.name: path.read_text("utf-8")
            for path in sorted(own.iterdir())
            if path.suffix in _TEMPLATE_ENDINGS and path.is_file()
        }
    except (OSError, UnicodeDecodeError) as error:
        raise UpkeepError(f"a template of the fleet cannot be read: {error}") from error

"""Writes what a fleet shows its people: feeds, handbooks, an index; only what changed.

Each vessel is independent of the others; one that fails stops only herself.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any, Literal

from upkeep import __version__
from upkeep.dates import say_day
from upkeep.documents import write_atomic
from upkeep.due import find_tasks
from upkeep.errors import UpkeepError
from upkeep.feed import build_feed
from upkeep.feed.describe import find_twins, say_summary
from upkeep.handbook import as_of_day, build_book
from upkeep.handbook.blocks import FORMAT, to_data
from upkeep.markup import parse_markdown
from upkeep.model import Fleet, Task, Vessel
from upkeep.records import LoadedFleet, load_fleet
from upkeep.records.installed import say_warnings

MANIFEST = ".walkround.json"
_LATE_SHOWN, _NEXT_SHOWN = 3, 4
_TEMPLATE_ENDINGS = (".html", ".typ", ".css")


@dataclass(frozen=True, kw_only=True, slots=True)
class Order:
    """What to write and where. paper None follows the fleet's units.

    whole False leaves the index page as it stands, if there is one: only some boats were read.
    """

    to: Path
    today: date
    pdf: bool = True
    whole: bool = True
    paper: Literal["a4", "letter"] | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class VesselReport:
    """What became of one vessel: files written, notes to tell, and her lines of the index."""

    vessel: str
    written: tuple[str, ...]
    notes: tuple[str, ...]
    failed: str
    row: Mapping[str, Any]
    key: str


def publish_fleet(loaded: LoadedFleet, order: Order, jobs: int = 1) -> tuple[VesselReport, ...]:
    """Write every vessel's feed and handbook, then the index page.

    jobs: processes; each reads its own share of the vessels again. The folder's manifest
    remembers what each handbook was made from, so that an unchanged one is left alone.
    """
    keys = _read_manifest(order.to)
    reports = _run(loaded, order, keys, jobs)
    fresh = {report.vessel: report.key for report in reports if report.key and not report.failed}
    names = {vessel.id for vessel in loaded.vessels}
    kept = {name: key for name, key in keys.items() if name not in names}
    text = json.dumps({**kept, **fresh}, indent=1, sort_keys=True)
    _write_changed(order.to / MANIFEST, text.encode())
    if order.whole or not (order.to / "index.html").exists():
        _write_changed(order.to / "index.html", _make_index(loaded, order, reports))
    return reports


def _run(
    loaded: LoadedFleet, order: Order, keys: Mapping[str, str], jobs: int
) -> tuple[VesselReport, ...]:
    if jobs <= 1 or len(loaded.vessels) < 2:
        return tuple(_publish_share(loaded, order, keys))
    names = [vessel.id for vessel in loaded.vessels]
    shares = [names[start::jobs] for start in range(min(jobs, len(names)))]
    with ProcessPoolExecutor(max_workers=jobs) as pool:
        runs = [pool.submit(_publish_apart, loaded.folder, share, order, keys) for share in shares]
        reports = [report for run in runs for report in run.result()]
    return tuple(sorted(reports, key=lambda report: names.index(report.vessel)))


def _publish_apart(
    folder: Path, names: Sequence[str], order: Order, keys: Mapping[str, str]
) -> list[VesselReport]:
    """Publish some vessels in a process of their own."""
    return _publish_share(load_fleet(folder, names), order, keys)


def _publish_share(
    loaded: LoadedFleet, order: Order, keys: Mapping[str, str]
) -> list[VesselReport]:
    common = hash_common(loaded)
    return [_publish_vessel(loaded, vessel, order, keys, common) for vessel in loaded.vessels]


def _publish_vessel(
    loaded: LoadedFleet, vessel: Vessel, order: Order, keys: Mapping[str, str], common: str
) -> VesselReport:
    assert loaded.fleet is not None
    tasks = find_tasks(vessel, loaded.fleet, order.today)
    written: list[str] = []
    notes: list[str] = []
    key, failed = "", ""
    try:
        written += write_feed(loaded, vessel, tasks, order)
        key, made, said = write_handbook(loaded, vessel, order, common, keys.get(vessel.id, ""))
        written += made
        notes += said
    except UpkeepError as error:
        failed = str(error)
    row = _index_row(loaded.fleet, vessel, tasks, order)
    return VesselReport(
        vessel=vessel.id,
        written=tuple(written),
        notes=tuple(notes),
        failed=failed,
        row=row,
        key=key,
    )


def write_feed(
    loaded: LoadedFleet,
    vessel: Vessel,
    tasks: Sequence[Task],
    order: Order,
    hand: str | None = None,
) -> list[str]:
    """Write a vessel's calendar; the file that stands there is its memory."""
    assert loaded.fleet is not None
    name = f"feeds/{vessel.id}.ics"
    path = order.to / name
    try:
        previous = path.read_bytes() if path.exists() else None
    except OSError as error:
        raise UpkeepError(f"cannot read {path}: {error.strerror}") from error
    data = build_feed(
        fleet=loaded.fleet, vessel=vessel, tasks=tasks, today=order.today, previous=previous,
        hand=hand, cautions=loaded.catalogue.cautions,
    )  # fmt: skip
    if data is None:
        path.unlink(missing_ok=True)
        return []
    return [name] if _write_changed(path, data) else []


def write_handbook(
    loaded: LoadedFleet, vessel: Vessel, order: Order, common: str, known_key: str = ""
) -> tuple[str, list[str], list[str]]:
    """Write a vessel's handbook and card unless they stand there already.

    common: of hash_common. known_key: what the files that stand there were made from.
    Gives the key of what they were made from, the files written, and notes to tell.
    """
    assert loaded.fleet is not None
    usual: Literal["a4", "letter"] = "letter" if loaded.fleet.units == "us" else "a4"
    paper = order.paper or usual
    key = _handbook_key(loaded, vessel, paper, common)
    names = [f"handbooks/{vessel.id}.html"]
    if order.pdf:
        names += [f"handbooks/{vessel.id}.pdf", f"handbooks/{vessel.id}-card.pdf"]
    if key == known_key and all((order.to / name).exists() for name in names):
        return key, [], []
    book, notes = read_book(loaded, vessel)
    pages = _render(loaded, vessel, book, replace(order, paper=paper))
    written = [
        n for n, data in zip(names, pages, strict=True) if _write_changed(order.to / n, data)
    ]
    return _handbook_key(loaded, vessel, paper, common), written, notes


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


def read_book(loaded: LoadedFleet, vessel: Vessel) -> tuple[dict[str, Any], list[str]]:
    """Give a vessel's book as data, and notes to tell.

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
    if not vessel.editions:
        return book, []
    path = _edition_path(loaded, vessel)
    assert path is not None
    if not path.exists():
        return book, _keep_edition(path, book)
    kept = _read_edition(path)
    if kept == json.loads(json.dumps(book)):
        return kept, []
    number = vessel.editions[-1].number
    note = (
        f"{vessel.id}: records or texts changed since edition {number} was signed; "
        "add an [[edition]] to print them"
    )
    return kept, [note]


def _edition_path(loaded: LoadedFleet, vessel: Vessel) -> Path | None:
    if not vessel.editions:
        return None
    return loaded.folder / "editions" / f"{vessel.id}-{vessel.editions[-1].number}.json"


def _keep_edition(path: Path, book: Mapping[str, Any]) -> list[str]:
    try:
        write_atomic(path, json.dumps(book, ensure_ascii=False, indent=1).encode())
    except UpkeepError as error:
        return [f"the edition's content could not be kept: {error}"]
    return []


def _read_edition(path: Path) -> dict[str, Any]:
    try:
        book: dict[str, Any] = json.loads(path.read_bytes())
        if book["format"] != FORMAT or book["is"] != "Book":
            raise ValueError(path)
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as error:
        raise UpkeepError(
            f"{path} is not an edition's content; restore it, or sign a new edition"
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
    edition = _edition_path(loaded, vessel)
    _add_files(digest, [*_photo_files(loaded, vessel), *([edition] if edition else [])])
    return digest.hexdigest()


def _add_files(digest: hashlib._Hash, paths: Iterable[Path]) -> None:
    for path in paths:
        if path.exists():
            digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")


def _template_files(folder: Path) -> list[Path]:
    built_in = sorted((Path(__file__).parent / "templates").iterdir())
    built_in += sorted((Path(__file__).parent / "catalogue").glob("*.toml"))
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
    try:
        return {
            path.name: path.read_text("utf-8")
            for path in sorted(own.iterdir())
            if path.suffix in _TEMPLATE_ENDINGS and path.is_file()
        }
    except (OSError, UnicodeDecodeError) as error:
        raise UpkeepError(f"a template of the fleet cannot be read: {error}") from error


def _index_row(fleet: Fleet, vessel: Vessel, tasks: Sequence[Task], order: Order) -> dict[str, Any]:
    dated = [task for task in tasks if task.due is not None]
    late = [task for task in dated if task.standing == "late"]
    feed = f"feeds/{vessel.id}.ics" if dated else None
    webcal = None
    if feed and fleet.address:
        webcal = f"webcal://{fleet.address.removeprefix('https://')}/{feed}"
    ahead = [task for task in dated if task.standing != "late"]
    twins = find_twins(vessel)
    shown = [
        {
            "due": say_day(task.due) if task.due else "",
            "title": say_summary(task, twins),
            "standing": task.standing,
        }
        for task in (*late[:_LATE_SHOWN], *ahead[:_NEXT_SHOWN])
    ]
    return {
        "name": vessel.name,
        "type": vessel.type,
        "id": vessel.id,
        "next": shown,
        "feed": feed,
        "webcal": webcal,
        "handbook": f"handbooks/{vessel.id}.html",
        "pdf": f"handbooks/{vessel.id}.pdf" if order.pdf else None,
        "card": f"handbooks/{vessel.id}-card.pdf" if order.pdf else None,
        "late": len(late),
    }


def _make_index(loaded: LoadedFleet, order: Order, reports: Iterable[VesselReport]) -> bytes:
    from upkeep.render.html import render_index

    assert loaded.fleet is not None
    stopped = [{"vessel": v, "file": f} for v, f in sorted(loaded.stopped.items())]
    contact = loaded.fleet.contact
    return render_index(
        {
            "fleet": loaded.fleet.name,
            "language": loaded.fleet.language,
            "today": say_day(order.today),
            "contact": ", ".join(filter(None, (contact.name, contact.phone, contact.email))),
            "vessels": [{**report.row, "note": report.failed} for report in reports],
            "stopped": stopped,
        }
    )


def _read_manifest(folder: Path) -> dict[str, str]:
    try:
        data = json.loads((folder / MANIFEST).read_bytes())
    except (OSError, ValueError):
        return {}  # nothing known: everything is made again
    return {k: v for k, v in data.items() if isinstance(v, str)} if isinstance(data, dict) else {}


def _write_changed(path: Path, data: bytes) -> bool:
    """Write a file if its bytes differ from what stands there."""
    try:
        if path.is_file() and path.read_bytes() == data:
            return False
    except OSError as error:
        raise UpkeepError(f"cannot read {path}: {error.strerror}") from error
    write_atomic(path, data)
    return True

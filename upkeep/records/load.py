"""Reads a whole fleet folder: all vessels that are right, all problems of those that are not."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from upkeep.catalogue.load import LoadedCatalogue, read_catalogue
from upkeep.documents import Document, is_inside, list_documents, read_document
from upkeep.errors import Fault, KeyPath, Problem, UpkeepError
from upkeep.model import Catalogue, Fleet, Vessel
from upkeep.naming import nearest, show_line, suggest
from upkeep.records.components import find_spoilt
from upkeep.records.fit_outs import FitOut, read_fit_out, unread_fit_out
from upkeep.records.fleets import is_usable, read_fleet, written_parts, written_waters
from upkeep.records.vessels import Surroundings, read_vessel

LARGEST_PHOTO_BYTES = 20_000_000


@dataclass(frozen=True, kw_only=True, slots=True)
class LoadedFleet:
    """A folder as read. stopped names each vessel left out and the file to mend."""

    folder: Path
    fleet: Fleet | None
    catalogue: Catalogue
    vessels: tuple[Vessel, ...]
    problems: tuple[Problem, ...]
    documents: Mapping[str, Document]
    stopped: Mapping[str, str]


@dataclass(kw_only=True)
class _Reading:
    folder: Path
    only: frozenset[str]
    problems: list[Problem] = field(default_factory=list)
    documents: dict[str, Document] = field(default_factory=dict)
    stopped: dict[str, str] = field(default_factory=dict)

    def open(self, path: Path, vessel: str | None = None) -> Document | None:
        """Read a file and keep it for its lines; a fault of the whole file is a problem."""
        document = read_document(self.folder, path, vessel)
        if isinstance(document, Problem):
            self.problems.append(document)
            return None
        self.documents[document.file] = document
        return document

    def report(
        self, document: Document, faults: Sequence[Fault], vessel: str | None = None
    ) -> None:
        """Place faults on their lines."""
        self.problems.extend(document.problem(fault, vessel) for fault in faults)


def load_fleet(folder: Path, only: Iterable[str] = ()) -> LoadedFleet:
    """Read a fleet folder. only restricts the vessels read; empty means all.

    Raises UpkeepError when the folder is not a fleet, or only names a vessel it lacks.
    """
    if not (folder / "fleet.toml").exists():
        raise UpkeepError(f"{folder} has no fleet.toml; walkround new FOLDER makes a fleet")
    reading = _Reading(folder=folder, only=frozenset(only))
    catalogue = read_catalogue(folder)
    reading.problems.extend(catalogue.problems)
    around = _load_surroundings(reading, catalogue)
    vessels = _load_vessels(reading, around)
    _check_keys(reading)
    usable = is_usable(around.fleet)
    if usable:
        _check_also(reading, around.fleet, vessels)
    else:
        reading.stopped.update((vessel.id, "fleet.toml") for vessel in vessels)
    order = sorted(set(reading.problems), key=lambda p: (p.file, p.line, p.message))
    return LoadedFleet(
        folder=folder,
        fleet=around.fleet if usable else None,
        catalogue=catalogue.catalogue,
        vessels=tuple(v for v in vessels if v.id not in reading.stopped),
        problems=tuple(order),
        documents=reading.documents,
        stopped=reading.stopped,
    )


def _load_surroundings(reading: _Reading, catalogue: LoadedCatalogue) -> Surroundings:
    """Read fleet.toml and the fit-outs; where fleet.toml cannot be read, its names stay open."""
    document = reading.open(reading.folder / "fleet.toml")
    faults: list[Fault] = []
    fleet = read_fleet(document.data if document else {}, faults)
    parts = written_parts(document.data) if document else None
    if document:
        reading.report(document, faults)
    return Surroundings(
        fleet=fleet,
        catalogue=catalogue,
        fit_outs=_load_fit_outs(reading, catalogue, parts),
        waters=written_waters(document.data) if document else None,
        parts=parts,
    )


def _load_fit_outs(
    reading: _Reading, catalogue: LoadedCatalogue, parts: frozenset[str] | None
) -> dict[str, FitOut]:
    found = {}
    for path in list_documents(reading.folder, "fit-outs"):
        document = reading.open(path)
        if document is None:
            found[path.stem] = unread_fit_out(path.stem, f"fit-outs/{show_line(path.name)}")
            continue
        faults: list[Fault] = []
        found[path.stem] = read_fit_out(
            path.stem,
            document.data,
            file=document.file,
            catalogue=catalogue,
            parts=parts,
            faults=faults,
        )
        _check_photos(document, reading.folder, faults)
        reading.report(document, faults)
    return found


def _load_vessels(reading: _Reading, around: Surroundings) -> list[Vessel]:
    paths = list_documents(reading.folder, "vessels")
    missing = reading.only - {path.stem for path in paths}
    if missing:
        near = nearest(min(missing), [path.stem for path in paths])
        hint = f"; did you mean {near}?" if near else ""
        raise UpkeepError(f"there is no vessel {min(missing)}{hint}")
    vessels = []
    for path in paths:
        if reading.only and path.stem not in reading.only:
            continue
        vessel = _load_vessel(reading, around, path)
        if vessel is not None:
            vessels.append(vessel)
    return vessels


def _load_vessel(reading: _Reading, around: Surroundings, path: Path) -> Vessel | None:
    name = show_line(path.stem)
    document = reading.open(path, name)
    if document is None:
        reading.stopped[name] = f"vessels/{name}.toml"
        return None
    faults: list[Fault] = []
    vessel = read_vessel(document.data, file=document.file, name=name, around=around, faults=faults)
    _check_photos(document, reading.folder, faults)
    if vessel is None or faults:
        reading.report(document, faults, name)
        reading.stopped[name] = document.file
        return None
    mend = _find_mend(document, vessel, around)
    if mend:
        reading.stopped[name] = mend
    return vessel


def _find_mend(document: Document, vessel: Vessel, around: Surroundings) -> str:
    """Name another file to mend before a faultless vessel can be used; "" if none."""
    waters = (vessel.water, *(water for water, _ in vessel.berths))
    parts = {part for c in vessel.components.values() for part in c.parts.values()}
    if not around.fleet.waters.keys() >= set(waters) or not around.fleet.parts.keys() >= parts:
        return "fleet.toml"
    uses = document.data.get("fit_out", ())
    mends = [around.fit_outs[use["name"]].mend for use in uses]
    mends.append(find_spoilt(document.data.get("component", []), around.catalogue))
    return next(filter(None, mends), "")


def _check_photos(document: Document, folder: Path, faults: list[Fault]) -> None:
    """Report each photo that is not there; names at fault are reported already."""
    known = {fault.path for fault in faults}
    for photo, path in _photos(document.data):
        if path in known:
            continue
        file = folder / "photos" / photo
        if not is_inside(folder, file) or not file.is_file():
            fix = "put the picture itself into photos/"
            faults.append(Fault(path, f"there is no photos/{photo}", fix))
        elif file.stat().st_size > LARGEST_PHOTO_BYTES:
            most = LARGEST_PHOTO_BYTES // 1_000_000
            faults.append(Fault(path, f"{photo} is too large", f"at most {most} MB"))


def _photos(data: Mapping[str, Any]) -> Iterator[tuple[str, KeyPath]]:
    """List every photo written in a file, a vessel's or a fit-out's, whatever else is wrong."""
    for index, row in _tables(data.get("component")):
        if isinstance(row.get("photo"), str):
            yield row["photo"], ("component", index, "photo")
    for index, use in _tables(data.get("fit_out")):
        changes = use.get("set")
        for name, row in changes.items() if isinstance(changes, dict) else ():
            if isinstance(row, dict) and isinstance(row.get("photo"), str):
                yield row["photo"], ("fit_out", index, "set", name, "photo")


def _tables(data: Any) -> Iterator[tuple[int, dict[str, Any]]]:
    for index, row in enumerate(data if isinstance(data, list) else ()):
        if isinstance(row, dict):
            yield index, row


def _check_keys(reading: _Reading) -> None:
    seen: dict[str, str] = {}
    for document in reading.documents.values():
        boat = document.data.get("vessel")
        key = boat.get("key") if isinstance(boat, dict) else None
        if not document.file.startswith("vessels/") or not isinstance(key, str):
            continue
        name = Path(document.file).stem
        other = seen.setdefault(key.lower(), name)
        if other != name:
            fault = Fault(("vessel", "key"), f"key is {other}'s too", "each boat has her own key")
            reading.report(document, [fault], name)
            reading.stopped[name] = document.file


def _check_also(reading: _Reading, fleet: Fleet, vessels: Sequence[Vessel]) -> None:
    if reading.only:
        return
    known = {
        f"{v.id}/{c.id}/{rule.id}"
        for v in vessels
        for c in v.components.values()
        for rule in c.kind.rules
    }
    faults = []
    for index, task in enumerate(fleet.service.also):
        if task and task not in known and task.split("/")[0] not in reading.stopped:
            fix = suggest(task, sorted(known), "name a task of the fleet")
            faults.append(Fault(("service", "also", index), f"task {task} is not known", fix))
    reading.report(reading.documents["fleet.toml"], faults)

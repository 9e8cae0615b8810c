"""Reads a whole fleet folder: all vessels that are right, all problems of those that are not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from upkeep.catalogue import load_catalogue
from upkeep.documents import Document, is_inside, read_document
from upkeep.errors import Problem, UpkeepError
from upkeep.model import Catalogue, Fleet, Vessel
from upkeep.records.components import FitOut, read_rows, written_ids
from upkeep.records.fleets import read_fleet
from upkeep.records.tables import FIT_OUT_DOCUMENT
from upkeep.records.vessels import Surroundings, read_vessel
from upkeep.schema import Fault, nearest, read_table

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
    catalogue, problems = load_catalogue(folder)
    reading.problems.extend(problems)
    fleet, known_waters = _load_fleet_file(reading)
    vessels: list[Vessel] = []
    if fleet is not None:
        fit_outs = _load_fit_outs(reading, catalogue)
        around = Surroundings(
            fleet=fleet, catalogue=catalogue, fit_outs=fit_outs, known_waters=known_waters
        )
        vessels = _load_vessels(reading, around)
        _check_keys(reading, vessels)
        _check_also(reading, fleet, vessels)
    order = sorted(set(reading.problems), key=lambda p: (p.file, p.line, p.message))
    return LoadedFleet(
        folder=folder,
        fleet=fleet,
        catalogue=catalogue,
        vessels=tuple(v for v in vessels if v.id not in reading.stopped),
        problems=tuple(order),
        documents=reading.documents,
        stopped=reading.stopped,
    )


def _load_fleet_file(reading: _Reading) -> tuple[Fleet | None, frozenset[str]]:
    document = reading.open(reading.folder / "fleet.toml")
    if document is None:
        return None, frozenset()
    faults: list[Fault] = []
    fleet = read_fleet(document.data, faults)
    reading.report(document, faults)
    waters = document.data.get("water", {})
    return fleet, frozenset(waters if isinstance(waters, dict) else ())


def _load_fit_outs(reading: _Reading, catalogue: Catalogue) -> dict[str, FitOut]:
    found = {}
    for path in sorted((reading.folder / "fit-outs").glob("*.toml")):
        document = reading.open(path)
        if document is None:
            found[path.stem] = FitOut(
                name=path.stem, title="", needs={}, parts=(), ids=frozenset(), whole=False
            )
            continue
        faults: list[Fault] = []
        found[path.stem] = _read_fit_out(path.stem, document, catalogue, faults)
        reading.report(document, faults)
    return found


def _read_fit_out(
    name: str, document: Document, catalogue: Catalogue, faults: list[Fault]
) -> FitOut:
    values = read_table(document.data, FIT_OUT_DOCUMENT, (), faults)
    rows = read_rows(document.data.get("component", []), catalogue, faults, in_fit_out=True)
    ids = frozenset(written_ids(document.data.get("component", [])))
    needs = values.get("needs", {})
    _check_needs(needs, catalogue, faults)
    for _, row, path in rows:
        named = [row.get("driven_by", ""), *row.get("water_from", ())]
        for supply in row.get("fed_by", ()):
            named += [supply["from"], *supply.get("through", ())]
        for other in filter(None, named):
            known = other[1:] in needs if other.startswith("@") else other in ids
            if not known:
                choices = [*(f"@{need}" for need in needs), *ids]
                near = nearest(other, choices)
                fix = f"did you mean {near}?" if near else f"one of {', '.join(sorted(choices))}"
                faults.append(Fault(path, f"{row['id']} names {other}, which is not here", fix))
    return FitOut(
        name=name,
        title=values.get("title", name),
        needs=needs,
        parts=tuple((kind, row) for kind, row, _ in rows),
        ids=ids,
        whole=not faults,
    )


def _check_needs(needs: Mapping[str, str], catalogue: Catalogue, faults: list[Fault]) -> None:
    words = ("any bank", "any charger", "any protection")
    for need, wanted in needs.items():
        if wanted not in words and wanted not in catalogue.kinds:
            near = nearest(wanted, (*words, *catalogue.kinds))
            fix = f'did you mean "{near}"?' if near else f"a kind, or {', '.join(words)}"
            faults.append(Fault(("needs", need), f"{wanted} is not a kind", fix))


def _load_vessels(reading: _Reading, around: Surroundings) -> list[Vessel]:
    paths = sorted((reading.folder / "vessels").glob("*.toml"))
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
    document = reading.open(path, path.stem)
    if document is None:
        reading.stopped[path.stem] = f"vessels/{path.name}"
        return None
    faults: list[Fault] = []
    vessel = read_vessel(
        document.data, file=document.file, name=path.stem, around=around, faults=faults
    )
    if vessel is not None:
        _check_photos(vessel, reading.folder, faults)
        if vessel.water not in around.fleet.waters:
            reading.stopped[vessel.id] = "fleet.toml"
    if faults:
        reading.report(document, faults, path.stem)
        reading.stopped[path.stem] = document.file
        return None
    for use in document.data.get("fit_out", ()):
        if not around.fit_outs[use["name"]].whole:
            reading.stopped[path.stem] = f"fit-outs/{use['name']}.toml"
    return vessel


def _check_photos(vessel: Vessel, folder: Path, faults: list[Fault]) -> None:
    for component in vessel.components.values():
        if not component.photo:
            continue
        path = folder / "photos" / component.photo
        at = (*component.path, "photo")
        if not path.is_file() or not is_inside(folder, path):
            fix = "put the picture itself into photos/"
            faults.append(Fault(at, f"there is no photos/{component.photo}", fix))
        elif path.stat().st_size > LARGEST_PHOTO_BYTES:
            most = LARGEST_PHOTO_BYTES // 1_000_000
            faults.append(Fault(at, f"{component.photo} is too large", f"at most {most} MB"))


def _check_keys(reading: _Reading, vessels: Sequence[Vessel]) -> None:
    seen: dict[str, str] = {}
    for vessel in vessels:
        other = seen.setdefault(vessel.key, vessel.id)
        if other != vessel.id:
            fault = Fault(("vessel", "key"), f"key is {other}'s too", "each boat has her own key")
            reading.report(reading.documents[vessel.file], [fault], vessel.id)
            reading.stopped[vessel.id] = vessel.file


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
        if task not in known and task.split("/")[0] not in reading.stopped:
            near = nearest(task, tuple(known))
            fix = f"did you mean {near}?" if near else "name a task of the fleet"
            faults.append(Fault(("service", "also", index), f"task {task} is not known", fix))
    reading.report(reading.documents["fleet.toml"], faults)


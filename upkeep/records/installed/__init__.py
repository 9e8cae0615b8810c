"""What a record allows but looks wrong as installed, and what would complete the handbook."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date

from upkeep.documents import Document
from upkeep.errors import Warning
from upkeep.model import Fleet, Vessel
from upkeep.records.installed.alarms import remark_alarms
from upkeep.records.installed.cables import remark_cables
from upkeep.records.installed.completing import remark_handbook
from upkeep.records.installed.days import remark_days
from upkeep.records.installed.metal import remark_anodes
from upkeep.records.installed.power import remark_power
from upkeep.records.installed.remarks import ASK, SOURCES, Remark
from upkeep.records.installed.water import remark_water
from upkeep.records.load import LoadedFleet

__all__ = ["SOURCES", "find_warnings", "say_warnings"]

# What came after the edition's day is not in the book; what stays live has its own chapter.
_MADE_ID = re.compile(r"\b[a-z0-9]+(?:-[a-z0-9]+)+\b")
NOT_JUDGED = ("extinguisher-agent",)  # a gap in the record, not a fault aboard
NOT_IN_BOOK = ("future", "stays-live")


def find_warnings(loaded: LoadedFleet, today: date) -> tuple[Warning, ...]:
    """List every remark about the vessels that could be read, in the order of their files."""
    found = []
    for vessel in loaded.vessels:
        document = loaded.documents[vessel.file]
        assert loaded.fleet is not None
        for remark in _remark_vessel(vessel, loaded.fleet, today):
            found.append(_place(document, vessel, remark))
    order = sorted(set(found), key=lambda w: (w.file, w.line, w.check, w.message))
    return tuple(order)


def say_warnings(loaded: LoadedFleet, vessel: Vessel, today: date) -> tuple[str, ...]:
    """Say what looks wrong as installed on one vessel, for the last chapter of her book."""
    assert loaded.fleet is not None
    remarks = _remark_installation(vessel, loaded.fleet, today)
    titles = {name: component.title for name, component in vessel.components.items()}
    said = (_name_parts(r.message, titles) for r in remarks if r.check not in NOT_IN_BOOK)
    return tuple(sorted(set(said)))


def _ask(remark: Remark) -> Remark:
    """End a remark on the installation itself with whom to ask; gaps and dates ask nobody."""
    plain = remark.check in NOT_JUDGED or remark.check.endswith("-unknown")
    if plain or remark.message.endswith(ASK):
        return remark
    return replace(remark, message=f"{remark.message}{ASK}")


def _name_parts(message: str, titles: Mapping[str, str]) -> str:
    """Name parts as the book does, where a remark has the ids of the record.

    An id of one plain word may be just that word: it is taken for a part only where it opens
    the remark.
    """
    opening, colon, rest = message.partition(": ")
    if colon and opening in titles:
        return f"{titles[opening]}: {_name_parts(rest, titles)}"
    return _MADE_ID.sub(lambda found: titles.get(found[0], found[0]), message)


def _place(document: Document, vessel: Vessel, remark: Remark) -> Warning:
    return document.warning(
        remark.path,
        vessel=vessel.id,
        check=remark.check,
        message=remark.message,
        sources=remark.sources or SOURCES.get(remark.check, ()),
    )


def _remark_vessel(vessel: Vessel, fleet: Fleet, today: date) -> Iterator[Remark]:
    yield from _remark_installation(vessel, fleet, today)
    yield from remark_handbook(vessel, fleet, today)


def _remark_installation(vessel: Vessel, fleet: Fleet, today: date) -> Iterator[Remark]:
    yield from map(_ask, remark_cables(vessel))
    yield from map(_ask, remark_power(vessel))
    yield from map(_ask, remark_water(vessel))
    yield from map(_ask, remark_anodes(vessel, fleet, today))
    yield from map(_ask, remark_alarms(vessel))
    yield from remark_days(vessel, fleet, today)

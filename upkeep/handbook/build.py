"""A whole handbook from one record: every chapter, as of the edition's day and no other.

Order of chapters after ISO 10240 (publisher's overview); it follows it, it does not comply.
"""

from __future__ import annotations

from collections.abc import Sequence

from upkeep.dates import say_day
from upkeep.handbook.blocks import FORMAT, Book
from upkeep.handbook.circuits import build_circuits_chapter
from upkeep.handbook.closing import build_limits_chapter, build_record
from upkeep.handbook.faults import build_faults
from upkeep.handbook.first_minutes import build_first_minutes, build_this_boat
from upkeep.handbook.material import Material, Parse, gather_material
from upkeep.handbook.numbers import build_numbers
from upkeep.handbook.running import build_running
from upkeep.handbook.seasons import build_seasons
from upkeep.handbook.walk import build_walk
from upkeep.handbook.work import build_work
from upkeep.handbook.year import build_year
from upkeep.model import Catalogue, Fleet, Vessel

CHAPTERS = (
    build_first_minutes,
    build_this_boat,
    build_walk,
    build_running,
    build_faults,
    build_numbers,
    build_circuits_chapter,
    build_year,
    build_work,
    build_seasons,
    build_limits_chapter,
    build_record,
)


def build_book(
    *,
    vessel: Vessel,
    fleet: Fleet,
    catalogue: Catalogue,
    warnings: Sequence[str],
    parse: Parse,
) -> Book:
    """Build a vessel's handbook.

    warnings: the open warnings of her check, one sentence each. parse: turns Markdown into
    blocks. The book depends on no day but that of her latest edition; without one it is a
    draft as of hand-over, or of the last part fitted. Raises KeyError for a caution or a
    source that the catalogue does not have.
    """
    material = gather_material(
        vessel=vessel, fleet=fleet, catalogue=catalogue, warnings=warnings, parse=parse
    )
    return Book(
        format=FORMAT,
        vessel=vessel.id,
        title=vessel.name,
        subtitle=f"Handbook of the {vessel.type}" if vessel.type else "Handbook",
        edition=say_edition(material),
        fleet=fleet.name,
        contact=_list_contact(fleet),
        language=vessel.owner.language or fleet.language,
        units=fleet.units,
        signal_words=tuple((word, meaning) for word, (meaning, _) in catalogue.signals.items()),
        chapters=tuple(build(material) for build in CHAPTERS),
    )


def say_edition(material: Material) -> str:
    """Say which edition it is and who signed it, or that it is a draft."""
    editions = material.vessel.editions
    if editions:
        last = editions[-1]
        return f"Edition {last.number}, {say_day(last.on)}, signed by {last.by}"
    if material.as_of is None:
        return "Draft, not signed"
    return f"Draft, not signed, as of {say_day(material.as_of)}"


def _list_contact(fleet: Fleet) -> tuple[tuple[str, str], ...]:
    contact = fleet.contact
    rows = (("Name", contact.name), ("Phone", contact.phone), ("Email", contact.email))
    return tuple((label, text) for label, text in rows if text)

"""A hand-made catalogue, fleet and vessel for handbook tests; every figure is invented."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from upkeep.dates import MonthDay, parse_stamp
from upkeep.handbook import build_book
from upkeep.handbook.blocks import (
    Block,
    Book,
    Cell,
    Chapter,
    Facts,
    PartCard,
    Table,
    TickBox,
    WorkCard,
)
from upkeep.markup import parse_markdown
from upkeep.model import (
    BookText,
    Catalogue,
    Caution,
    Component,
    Contact,
    Draw,
    Edition,
    EmergencyPage,
    Expiry,
    Field,
    Finding,
    Fleet,
    Kind,
    Output,
    Owner,
    PartList,
    Reading,
    ReadingKind,
    Rule,
    Scope,
    Season,
    Service,
    Source,
    Supply,
    Travel,
    Vessel,
    Water,
)

EDITION_DAY = date(2026, 6, 12)
FITTED = date(2026, 6, 1)


def make_source(name: str, authority: str, mark: str, **changes: Any) -> Source:
    """Make a source titled after its id."""
    title = changes.pop("title", name.replace("-", " "))
    base = Source(
        id=name, title=title, edition="", section="", authority=authority, mark=mark, range=""
    )
    return replace(base, **changes)


SOURCES = (
    make_source("habit", "NONE", "PRACTICE", title="Common practice on strainers"),
    make_source(
        "law-read", "LAW", "SEEN", title="Rules of the canal", section="175", edition="2026"
    ),
    make_source("law-told", "LAW", "SEEN-2", title="Rules of the coast"),
    make_source("paper", "TRADE", "SEEN", title="Boating magazine", range="weekly to monthly"),
)
CAUTIONS = (
    Caution(
        id="flooding",
        word="WARNING",
        hazard="An open seacock lets the sea in.",
        consequence="The boat can sink.",
        avoid=("Shut the seacock first.",),
        injury=True,
        sources=("habit",),
    ),
    Caution(
        id="shock",
        word="DANGER",
        hazard="Shore power at the terminals.",
        consequence="It kills.",
        avoid=("Unplug the shore lead first.",),
        injury=True,
        sources=("habit",),
    ),
)


def make_rule(kind: str, rule_id: str, /, **changes: Any) -> Rule:
    """Make an owner's rule of two steps without a date."""
    base = Rule(
        id=rule_id,
        kind=kind,
        title=f"{rule_id.replace('-', ' ').capitalize()}",
        purpose="restore",
        binding="practice",
        limits={},
        each=(),
        when={},
        without_season={},
        evidence="",
        window_days=None,
        least_days=0,
        isolates=False,
        place="any",
        out_of_water=False,
        minutes=10,
        skills=(),
        licence="",
        hand="owner",
        parts=(),
        tools=(),
        cautions=(),
        steps=f"1. Begin to {rule_id.replace('-', ' ')}.\n2. Look at it again.\n",
        record="",
        findings=(),
        sources=("habit",),
        scopes=(),
    )
    return replace(base, **changes)


def make_kind(kind_id: str, /, **changes: Any) -> Kind:
    """Make a kind without fields, readings or rules."""
    base = Kind(
        id=kind_id,
        title=kind_id.replace("-", " "),
        area="power",
        roles=(),
        what="",
        fields=(),
        readings=(),
        healthy=(),
        symptoms=(),
        cautions=(),
        spares=(),
        rules=(),
    )
    return replace(base, **changes)


SEACOCK = make_kind(
    "seacock",
    area="raw water",
    roles=("shut-off",),
    what="A valve on a hole through the hull.",
    healthy=("It moves with one hand.",),
    cautions=("flooding",),
    spares=("softwood plug",),
    rules=(
        make_rule("seacock", "open-it", each=("start",), cautions=("flooding",)),
        make_rule("seacock", "shut-it", each=("leaving",), cautions=("flooding",)),
        make_rule("seacock", "look-before-launch", limits={"before_launch_days": 2}),
    ),
)
STRAINER = make_kind(
    "sea-strainer",
    area="raw water",
    rules=(
        make_rule(
            "sea-strainer",
            "clean-basket",
            title="Clean the strainer basket",
            limits={"fouling_days": 30, "months": 3},
            cautions=("flooding", "shock"),
            tools=("bucket",),
            parts=("gasket",),
            record="Write down how full it was.",
            findings=(Finding(wear=0.0, words="clean"), Finding(wear=1.0, words="full")),
            sources=("paper", "habit"),
        ),
        make_rule("sea-strainer", "empty-for-winter", limits={"after_lay_up_days": 7}),
    ),
)
UNIT = make_kind(
    "climate-unit",
    area="climate",
    roles=("consumes",),
    fields=(Field(key="rise_k", type="number", unit="K", text="how much warmer, cooling"),),
    readings=(
        ReadingKind(
            name="overboard_flow_l_per_min",
            unit="L/min",
            low=0,
            high=100,
            at_commissioning=True,
            counts_for="",
            text="water overboard",
        ),
        ReadingKind(
            name="air_out_c",
            unit="°C",
            low=-10,
            high=80,
            at_commissioning=True,
            counts_for="",
            text="air at the outlet",
        ),
    ),
    rules=(
        make_rule("climate-unit", "switch-on", each=("start",), cautions=("shock",)),
        make_rule("climate-unit", "switch-off", each=("leaving",)),
        make_rule(
            "climate-unit", "see-refrigerant", limits={"months": 24}, purpose="inspect",
            hand="licensed", licence="refrigerant", skills=("climate",),
        ),
    ),
)  # fmt: skip
BANK = make_kind(
    "lithium-bank",
    roles=("bank",),
    fields=(
        Field(key="usable", type="number", unit="0-1", default=0.8, text="part to plan with"),
    ),
    rules=(
        make_rule(
            "lithium-bank", "look-in-storage", limits={"charge_to": 0.2, "months": 3},
            without_season={"months": 6},
        ),
        make_rule(
            "lithium-bank", "isolate", limits={"after_lay_up_days": 3}, isolates=True,
            cautions=("shock",),
        ),
    ),
)  # fmt: skip
LEAD = make_kind("lead-acid-bank", roles=("bank",))
CHARGER = make_kind("battery-charger", roles=("charger",))
DC_DC = make_kind("dc-dc-charger", roles=("charger",))
ALTERNATOR = make_kind("alternator", roles=("charger",))
BREAKER = make_kind("breaker", roles=("protection", "isolates"), cautions=("shock",))
FUSE = make_kind("fuse", roles=("protection",))
BILGE_PUMP = make_kind("bilge-pump", roles=("consumes",), area="hull")
EXTINGUISHER = make_kind(
    "fire-extinguisher",
    area="fire and life",
    rules=(
        make_rule(
            "fire-extinguisher",
            "renew-by-age",
            purpose="renew",
            limits={"expiry": Expiry(field="made", life_months=144, life_field="")},
            scopes=(
                Scope(
                    flags=("gb",), waters=(), uses=("private",), classes=(), schemes=(),
                    binding="required", limits={}, sources=("law-read",),
                ),
                Scope(
                    flags=("us",), waters=(), uses=(), classes=(), schemes=(),
                    binding="advised", limits={}, sources=("law-told",),
                ),
            ),
        ),
    ),
)  # fmt: skip
KINDS = (
    SEACOCK, STRAINER, UNIT, BANK, LEAD, CHARGER, ALTERNATOR, BREAKER, FUSE, BILGE_PUMP,
    EXTINGUISHER,
)  # fmt: skip


def make_catalogue(**changes: Any) -> Catalogue:
    """Make a catalogue of the kinds above with one emergency page and the book's texts."""
    base = Catalogue(
        kinds={kind.id: kind for kind in KINDS},
        cautions={caution.id: caution for caution in CAUTIONS},
        sources={source.id: source for source in SOURCES},
        pages=(
            EmergencyPage(
                id="water-coming-in",
                order=1,
                title="Water is coming in",
                cautions=("flooding", "shock"),
                steps="1. Shut every seacock.\n2. Call for help.\n",
                lists=(
                    PartList(title="Every seacock", kinds=("seacock",), roles=()),
                    PartList(title="Every bilge pump", kinds=("bilge-pump",), roles=()),
                ),
            ),
        ),
        signals={"DANGER": ("It will kill.", "habit"), "WARNING": ("It could kill.", "habit")},
        texts={
            "first-words": BookText(title="How to use this book", body="Walk round her first."),
            "who-to-call": BookText(
                title="Who to call",
                body="Write the numbers in.\n\n- Coastguard: write it here.\n- Ambulance: here.\n",
            ),
            "not-this": BookText(title="What this book is not", body="It is not a standard."),
        },
    )
    return replace(base, **changes)


BASIN = Water(
    id="basin",
    name="inner basin",
    moving="marina",
    salinity="sea",
    monthly_c=(8, 7, 8, 10, 13, 16, 18, 19, 17, 14, 11, 9),
    monthly_air_c=None,
    jurisdiction="",
)


def make_fleet(water: Water = BASIN, **changes: Any) -> Fleet:
    """Make a fleet of one water with a workshop that takes licensed work."""
    base = Fleet(
        id="quay",
        name="Quay",
        units="metric",
        language="en",
        address="",
        contact=Contact(name="Quay workshop", phone="+00 000", email=""),
        waters={water.id: water},
        service=Service(yard=("licensed",), also=()),
        crew=(),
        lifts=(),
        places_ashore=None,
        travel=Travel(between={}, set_up_minutes=0),
        parts={},
    )
    return replace(base, **changes)


def make_component(component_id: str, kind: Kind, /, **changes: Any) -> Component:
    """Make a component in the galley with nothing recorded but its fitting."""
    base = Component(
        id=component_id,
        kind=kind,
        name="",
        maker="",
        model="",
        serial="",
        location="galley, left side",
        marked="",
        photo="",
        notes="",
        installed=FITTED,
        hours_per_year=None,
        warranty_until=None,
        supplies=(),
        water_from=(),
        driven_by="",
        stays_live=False,
        parts={},
        values={},
        path=(),
    )
    return replace(base, **changes)


def feed_from(source: str, *through: str) -> tuple[Supply, ...]:
    """Feed a component from one source through devices."""
    row = Supply(source=source, through=through, ampacity_a=None, cable_mm2=None, cable_m=None)
    return (row,)


def make_bank(**changes: Any) -> Component:
    """Make a bank of 500 Ah of which 85 % may be used."""
    values: Mapping[str, Any] = {
        "capacity_ah": 500.0, "usable": 0.85, "volts": 12.0, "own_draw_a": 0.003,
        **changes.pop("values", {}),
    }  # fmt: skip
    return make_component(
        "bank", BANK, name="service bank", location="wheelhouse seat", values=values, **changes
    )


def make_unit(**changes: Any) -> Component:
    """Make a climate unit that draws 25, 31 and 44 A and stands by at 0.12 A."""
    values: Mapping[str, Any] = {
        "draw_a": Draw(low=25, usual=31, full=44), "standby_a": 0.12, "cooling_w": 2600.0,
        "rise_k": 5.0, "lowest_sea_c": 8.5, **changes.pop("values", {}),
    }  # fmt: skip
    supplies = changes.pop("supplies", feed_from("bank", "bank-fuse", "breaker"))
    return make_component(
        "unit", UNIT, supplies=supplies, values=values, location="hanging locker, low", **changes
    )


def list_small_boat() -> tuple[Component, ...]:
    """List the components of a small boat: a water loop, a bank, an extinguisher."""
    return (
        make_component("seacock", SEACOCK, marked="SEA 1", maker="Foundry", serial="77"),
        make_component("strainer", STRAINER, water_from=("seacock",), parts={"gasket": "G-40"}),
        make_bank(supplies=feed_from("charger", "bank-fuse") + feed_from("alternator")),
        make_component("bank-fuse", FUSE, location="wheelhouse seat", values={"rating_a": 150.0}),
        make_component(
            "charger", CHARGER, location="wheelhouse seat, port", values={"output_a": 40.0}
        ),
        make_component(
            "alternator", ALTERNATOR, location="engine",
            values={"output_a": Output(idle=20, cruise=30)},
        ),
        make_component(
            "breaker", BREAKER, marked="CLIMATE", location="hanging locker, up",
            values={"rating_a": 60.0},
        ),
        make_unit(water_from=("strainer",), photo="unit.jpg", notes="Runs <b>well</b>."),
        make_component(
            "extinguisher", EXTINGUISHER, location="galley, by the steps",
            values={"made": parse_stamp("2024-03")},
        ),
    )  # fmt: skip


def make_vessel(components: Sequence[Component], **changes: Any) -> Vessel:
    """Make the vessel Skua, handed over and signed on one day, ashore in winter."""
    base = Vessel(
        id="skua",
        key="",
        name="Skua",
        type="motor launch",
        length_m=9.8,
        beam_m=None,
        draught_m=None,
        displacement_t=5.2,
        built=2024,
        water="basin",
        flag="gb",
        use="private",
        classes=(),
        schemes=(),
        persons=None,
        sleeping=True,
        berth="B 14",
        access="",
        keys="",
        handed_over=EDITION_DAY,
        owner=Owner(name="", phone="", email="", language=""),
        season=Season(launch=MonthDay(month=4, day=1), lay_up=MonthDay(month=11, day=1)),
        ashore=(),
        afloat=(),
        berths=(),
        left=(),
        components={item.id: item for item in components},
        completions=(),
        overrides={},
        readings=(),
        editions=(Edition(number=1, on=EDITION_DAY, by="Ines"),),
        file="vessels/skua.toml",
    )
    return replace(base, **changes)


def make_reading(component: str, name: str, value: float, **changes: Any) -> Reading:
    """Make a commissioning reading of the edition's day."""
    base = Reading(
        component=component, name=name, on=EDITION_DAY, value=value, commissioning=True, path=()
    )
    return replace(base, **changes)


def build(vessel: Vessel, **changes: Any) -> Book:
    """Build a vessel's book with the hand-made catalogue, unless said otherwise."""
    asked: dict[str, Any] = {
        "fleet": make_fleet(),
        "catalogue": make_catalogue(),
        "warnings": (),
        "parse": parse_markdown,
    }
    return build_book(vessel=vessel, **{**asked, **changes})


def find_chapter(book: Book, number: int) -> Chapter:
    """Find the one chapter of a number."""
    (found,) = (chapter for chapter in book.chapters if chapter.number == number)
    return found


def walk_blocks(blocks: Sequence[Block]) -> Iterator[Block]:
    """Give each block and those inside it, in reading order."""
    for block in blocks:
        yield block
        for name in ("cautions", "steps", "body", "after", "lists"):
            yield from walk_blocks(getattr(block, name, ()))


def find_table(chapter: Chapter, caption: str) -> Table:
    """Find the one table whose caption begins with a text."""
    tables = [block for block in walk_blocks(chapter.blocks) if isinstance(block, Table)]
    (found,) = (table for table in tables if table.caption.startswith(caption))
    return found


def read_cell(cell: Cell) -> str:
    """Give what a cell says; "" for a blank, and the words of a box to tick."""
    if isinstance(cell, TickBox):
        return cell.alt
    return cell or "" if not isinstance(cell, tuple) else "".join(span.text for span in cell)


def find_rows(chapter: Chapter, caption: str) -> dict[str, tuple[str, ...]]:
    """Give the rows of a table by their first cell, as text."""
    rows = [tuple(map(read_cell, row)) for row in find_table(chapter, caption).rows]
    return {row[0]: row[1:] for row in rows}


def find_card(book: Book, anchor: str) -> WorkCard:
    """Find the card of a task."""
    (found,) = (
        block
        for block in find_chapter(book, 9).blocks
        if isinstance(block, WorkCard) and block.anchor == anchor
    )
    return found


def find_part(book: Book, component_id: str) -> tuple[tuple[str, str | None], ...]:
    """Find the labelled values of a part on the walk round her."""
    (card,) = (
        block
        for block in find_chapter(book, 2).blocks
        if isinstance(block, PartCard) and block.anchor == f"part-{component_id}"
    )
    return tuple(row for block in card.body if isinstance(block, Facts) for row in block.rows)


def find_facts(chapter: Chapter) -> dict[str, str | None]:
    """Gather the labelled values of a chapter; of equal labels the first."""
    found: dict[str, str | None] = {}
    for block in walk_blocks(chapter.blocks):
        if isinstance(block, Facts):
            for label, value in block.rows:
                found.setdefault(label, value)
    return found


def list_texts(blocks: Sequence[Block]) -> list[str]:
    """List the running text of paragraphs and lists, in reading order."""
    texts = []
    for block in walk_blocks(blocks):
        lines = getattr(block, "items", ()) or ((block.line,) if hasattr(block, "line") else ())
        texts += ["".join(span.text for span in line) for line in lines]
    return texts

"""A small invented handbook that holds every block, and pictures made here."""

from __future__ import annotations

import struct
import zlib
from typing import Any

from upkeep.handbook.blocks import (
    FORMAT,
    Block,
    Book,
    CautionPanel,
    Chapter,
    Checklist,
    EmergencySheet,
    Facts,
    Heading,
    Line,
    Listing,
    Paragraph,
    PartCard,
    Photo,
    Signatures,
    Span,
    Table,
    TickBox,
    WorkCard,
    WritingLines,
    to_data,
)

SHOCK = CautionPanel(
    id="shock-mains",
    word="DANGER",
    hazard="Electric shock from shore power or an inverter.",
    consequence="A mains shock kills or burns badly.",
    avoid=("Unplug the shore lead at the pedestal first.", "Prove that nothing is live."),
)
SHOCK_IN_WATER = CautionPanel(
    id="shock-in-water",
    word="DANGER",
    hazard="Current in the water beside a dock.",
    consequence="It stops your muscles.",
    avoid=("Never jump in.",),
)
FLOODING = CautionPanel(
    id="flooding",
    word="WARNING",
    hazard="Sea water comes in when a hose below the waterline is open.",
    consequence="A boat can sink at her berth.",
    avoid=("Close the seacock first.", "Keep a soft plug beside it."),
)
HOT = CautionPanel(
    id="hot-engine",
    word="CAUTION",
    hazard="Hot metal and moving belts.",
    consequence="They burn skin and catch sleeves.",
    avoid=("Let the engine cool for one hour.",),
)
COVER = CautionPanel(
    id="cover",
    word="NOTICE",
    hazard="An overtightened cover cracks.",
    consequence="",
    avoid=("Turn it by hand only.",),
)


def say(text: str) -> Line:
    """Make a line of plain text."""
    return (Span(text=text),)


def steps(*texts: str) -> Listing:
    """Make a numbered list."""
    return Listing(ordered=True, items=tuple(say(text) for text in texts))


def make_png(width: int = 64, height: int = 48) -> bytes:
    """Draw a small grey ramp. PNG, W3C recommendation, third edition, section 5."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    rows = b"".join(
        b"\0" + bytes(60 + 160 * (x + y) // (width + height) for x in range(width))
        for y in range(height)
    )
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows, 9)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


PHOTOS = {"strainer.png": make_png()}


def _first_minutes() -> tuple[Block, ...]:
    shut_offs = Table(
        caption="Openings below the waterline",
        head=("Close this", "Where it is", "Words on it"),
        rows=(
            ("Forward seacock", "galley, under the sink, right side", "SEA 1"),
            ("Engine seacock", "under the cockpit sole, port", None),
        ),
        shares=(3, 5, 2),
    )
    breakers = Table(
        caption="Switch off",
        head=("Switch", "Where it is"),
        rows=(("Battery isolator", "wheelhouse seat, starboard"),),
        shares=(1, 2),
    )
    return (
        EmergencySheet(
            anchor="water-coming-in",
            title="Water is coming in",
            cautions=(FLOODING,),
            steps=(
                steps(
                    "Start every bilge pump.",
                    "Close the seacocks in the table below.",
                    "Call for help on channel 16 if the water rises.",
                ),
            ),
            lists=(shut_offs,),
        ),
        EmergencySheet(
            anchor="shock",
            title="Somebody has had a shock",
            cautions=(SHOCK, SHOCK_IN_WATER),
            steps=(steps("Do not touch the person.", "Cut the power at the pedestal."),),
            lists=(breakers,),
        ),
    )


def _this_boat() -> tuple[Block, ...]:
    return (
        Facts(
            rows=(
                ("Name", "Skua"),
                ("Type", "motor launch"),
                ("Length", "9.8 m (32 ft 2 in)"),
                ("Persons, from the builder's plate", None),
                ("Berth", "B 14"),
            )
        ),
        Heading(level=2, text="Who to call", anchor="who-to-call"),
        Paragraph(
            line=(
                Span(text="Call "),
                Span(text="Ines", strong=True),
                Span(text=" first. "),
                Span(text="Say where you are", emphasis=True),
                Span(text=", then what stopped."),
            )
        ),
        Heading(level=3, text="What the signal words mean", anchor="signal-words"),
        Listing(ordered=False, items=(say("DANGER will kill."), say("NOTICE spares gear."))),
    )


def _walk() -> tuple[Block, ...]:
    return (
        Heading(level=2, text="Galley", anchor="galley"),
        PartCard(
            anchor="part-strainer",
            title="Sea strainer",
            location="galley, under the sink, left side",
            marked="SEA 1",
            photo=Photo(file="strainer.png", alt="The strainer with its clear cover"),
            body=(
                Paragraph(line=say("Healthy: clear water in the bowl and a dry cover.")),
                COVER,
                Listing(ordered=False, items=(say("Look for weed."), say("Feel for drips."))),
            ),
        ),
        PartCard(
            anchor="part-seacock",
            title="Forward seacock",
            location="galley, under the sink, right side",
            marked="",
            photo=None,
            body=(Paragraph(line=say("The handle turns a quarter turn by hand.")),),
        ),
        Photo(file="missing.png", alt="The galley seen from the door"),
    )


def _leaving() -> tuple[Block, ...]:
    return (
        HOT,
        Checklist(items=(say("Let the engine cool."), say("Close the fuel tap."))),
        Paragraph(line=say("The bank lasts over six months once isolated.")),
        Table(
            caption="Switch off",
            head=("What", "Task", "Off"),
            rows=(
                (
                    "1. house switch",
                    (Span(text="Test the device", to="task-test-breaker"), Span(text=" first.")),
                    TickBox(alt="Tick when off: house switch"),
                ),
            ),
            shares=(3, 5, 1),
        ),
        Checklist(
            items=(
                (
                    Span(text="Clean the basket", strong=True, to="task-clean-engine-strainer"),
                    Span(text=": engine strainer."),
                ),
            )
        ),
        Table(
            caption="The service bank through the winter",
            head=("Day", "Isolated", "As left", "Look by", "Note"),
            rows=(
                ("1 November", "60 %", "60 %", None, "day of lay-up"),
                ("1 December", "59 %", "41 %", "1 December", "shown for a bank of 460 Ah"),
            ),
            shares=(3, 2, 2, 3, 4),
        ),
    )


def _tasks() -> tuple[Block, ...]:
    return (
        WorkCard(
            anchor="task-clean-strainer",
            also=("task-clean-engine-strainer",),
            title="Clean the strainer basket",
            subtitle="Sea strainer, galley, under the sink, left side",
            facts=(
                ("When", "every 30 warm days, usually May to September"),
                ("First due", "12 July 2026"),
                ("Who", "owner"),
                ("Last done", None),
            ),
            cautions=(FLOODING, COVER),
            steps=(steps("Close the seacock.", "Open the cover.", "Rinse the basket."),),
            after=(Paragraph(line=say("Write down how full the basket was.")),),
        ),
        WorkCard(
            anchor="task-test-breaker",
            also=(),
            title="Test the residual current device",
            subtitle="Cockpit locker, port",
            facts=(("When", "every 3 months"), ("Who", "owner")),
            cautions=(SHOCK,),
            steps=(steps("Press the test button.", "Reset the device."),),
            after=(WritingLines(count=2),),
        ),
    )


def _sign() -> tuple[Block, ...]:
    return (
        Signatures(signers=(("Installer", "Ines"), ("Owner", None))),
        Heading(level=2, text="Notes", anchor="notes"),
        WritingLines(count=6),
    )


def make_book(*more: Chapter) -> Book:
    """Make the sample; more chapters follow its own."""
    chapters = (
        ("first-minutes", "First minutes", _first_minutes()),
        ("this-boat", "This boat", _this_boat()),
        ("walk", "A walk round her", _walk()),
        ("leaving", "Starting up, leaving her, storage", _leaving()),
        ("tasks", "Each task", _tasks()),
        ("signatures", "Readings and signatures", _sign()),
    )
    made = tuple(
        Chapter(number=number, anchor=anchor, title=title, blocks=blocks)
        for number, (anchor, title, blocks) in enumerate(chapters)
    )
    return Book(
        format=FORMAT,
        vessel="skua",
        title="Skua",
        subtitle="Handbook of the motor launch",
        edition="Edition 1, 12 June 2026, signed by Ines",
        fleet="Harbour Basin Boats",
        contact=(("Call", "Ines"), ("Telephone", "+44 1632 960 014")),
        language="en",
        units="metric",
        signal_words=(
            ("DANGER", "if not avoided, kills or injures badly"),
            ("WARNING", "if not avoided, could kill or injure badly"),
            ("CAUTION", "if not avoided, could injure"),
            ("NOTICE", "about gear, not about people"),
        ),
        chapters=made + more,
    )


def make_data(*more: Chapter) -> dict[str, Any]:
    """Make the sample as JSON values."""
    data: dict[str, Any] = to_data(make_book(*more))
    return data

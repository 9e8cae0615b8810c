"""The rows of every catalogue structure: what a kind, a rule, a source may say."""

from __future__ import annotations

from upkeep.model import (
    AUTHORITIES,
    BINDINGS,
    DATA_LIMITS,
    EVENTS,
    HANDS,
    MARKS,
    PURPOSES,
    ROLES,
    SIGNAL_WORDS,
    SKILLS,
    Field,
)
from upkeep.schema import compile_table

# Keys that every component has, whatever its kind; upkeep.records.tables gives their rows.
COMPONENT_KEYS = frozenset((
    "id", "kind", "name", "maker", "model", "serial", "location", "marked", "photo", "notes",
    "installed", "hours_per_year", "warranty_until", "fed_by", "water_from", "driven_by",
    "stays_live", "parts",
))  # fmt: skip
COUNTED = tuple(key for key in DATA_LIMITS if key != "reading")
USES = ("private", "charter", "hire", "residential", "work")
FIELD_TYPES = (
    "number", "whole", "text", "choice", "yes-no", "stamp", "draw", "output", "month-list",
)  # fmt: skip

_DAYS = {"type": "whole", "unit": "d", "low": 0, "high": 3660}
EXPIRY_LIMITS = (
    Field(key="expiry", type="text", text="the field that holds the printed date"),
    Field(key="life_months", type="anything", text="months after the stamp, or the field with it"),
)
READING_LIMIT = Field(
    key="reading",
    type="table",
    text="a bound on a measured value",
    fields=(
        Field(key="name", type="text", required=True, text="the reading's name"),
        Field(key="above", type="number", text="act when it rises past this"),
        Field(key="below", type="number", text="act when it falls past this"),
        Field(
            key="of_commissioning",
            type="yes-no",
            default=False,
            text="the bound is a fraction of the first value",
        ),
    ),
)
NUMBER_LIMITS = (
    Field(key="days", text="days since", **{**_DAYS, "low": 1}),  # type: ignore[arg-type]
    Field(key="weeks", type="whole", unit="weeks", low=1, high=520, text="weeks since"),
    Field(key="months", type="whole", unit="months", low=1, high=1200, text="months since"),
    Field(key="run_hours", type="number", unit="h", low=0.1, high=100000, text="hours run"),
    Field(
        key="fouling_days",
        type="number",
        unit="d",
        low=0.1,
        high=36600,
        text="days afloat, counted as days in water of 20 °C",
    ),
    Field(key="afloat_days", type="number", unit="d", low=1, high=36600, text="days afloat"),
    Field(key="before_lay_up_days", text="days before lay-up", **_DAYS),  # type: ignore[arg-type]
    Field(key="after_lay_up_days", text="days after lay-up", **_DAYS),  # type: ignore[arg-type]
    Field(key="before_launch_days", text="days before launch", **_DAYS),  # type: ignore[arg-type]
    Field(key="after_launch_days", text="days after launch", **_DAYS),  # type: ignore[arg-type]
    Field(
        key="charge_to", type="number", unit="0-1", low=0, high=1, text="charge a bank may fall to"
    ),
    Field(
        key="anode_used", type="number", unit="0-1", low=0.01, high=1, text="part of an anode gone"
    ),
)
LIMIT_FIELDS = (*NUMBER_LIMITS, *EXPIRY_LIMITS, READING_LIMIT)
_EACH = Field(key="each", type="anything", text="an occasion, never dated", choices=EVENTS)
LIMITS = compile_table("limits", (*LIMIT_FIELDS, _EACH))

SOURCE = compile_table(
    "source",
    (
        Field(key="title", type="text", required=True, text="title and kind of the text"),
        Field(key="edition", type="text", text="year or date of the copy read"),
        Field(key="section", type="anything", text="section or paragraph"),
        Field(key="authority", type="choice", choices=AUTHORITIES, required=True, text="who says"),
        Field(key="mark", type="choice", choices=MARKS, required=True, text="how well it was read"),
        Field(key="range", type="text", text="how far sources differ"),
    ),
)

CAUTION = compile_table(
    "caution",
    (
        Field(key="word", type="choice", choices=SIGNAL_WORDS, required=True, text="signal word"),
        Field(key="hazard", type="text", required=True, text="the hazard"),
        Field(key="consequence", type="text", required=True, text="what happens"),
        Field(key="avoid", type="texts", required=True, text="how to avoid it"),
        Field(key="injury", type="yes-no", default=True, text="whether a person may be hurt"),
        Field(key="sources", type="ids", required=True, text="who says so"),
    ),
)

FIELD = compile_table(
    "field",
    (
        Field(key="key", type="key", required=True, text="the key in a record"),
        Field(key="type", type="choice", choices=FIELD_TYPES, required=True, text="what it holds"),
        Field(key="unit", type="text", text="its unit"),
        Field(key="low", type="number", text="smallest value"),
        Field(key="high", type="number", text="largest value"),
        Field(key="choices", type="texts", text="the words it may hold"),
        Field(key="default", type="anything", text="value when it is not recorded"),
        Field(key="required", type="yes-no", default=False, text="must be recorded"),
        Field(key="text", type="text", required=True, text="what it is"),
    ),
)

READING = compile_table(
    "reading",
    (
        Field(key="name", type="key", required=True, text="its name"),
        Field(key="unit", type="text", required=True, text="its unit"),
        Field(key="low", type="number", required=True, text="smallest value"),
        Field(key="high", type="number", required=True, text="largest value"),
        Field(key="at_commissioning", type="yes-no", default=False, text="read at hand-over"),
        Field(key="counts_for", type="choice", choices=COUNTED, text="the limit it drives"),
        Field(key="text", type="text", text="what is read, and how"),
    ),
)

SYMPTOM = compile_table(
    "symptom",
    (
        Field(key="sees", type="text", required=True, text="what the owner sees"),
        Field(key="checks", type="texts", required=True, text="what to check, in order"),
    ),
)

KIND = compile_table(
    "kind",
    (
        Field(key="title", type="text", required=True, text="what it is called"),
        Field(key="area", type="text", default="other", text="part of the boat's systems"),
        Field(key="roles", type="choices", choices=ROLES, text="what it does in her circuits"),
        Field(key="what", type="text", text="what it does, for an owner"),
        Field(key="fields", type="anything", text="what is recorded of it"),
        Field(key="readings", type="anything", text="what is measured on it"),
        Field(key="healthy", type="texts", text="what right looks like"),
        Field(key="symptoms", type="anything", text="what goes wrong with it"),
        Field(key="cautions", type="ids", text="cautions for whoever is near it"),
        Field(key="spares", type="texts", text="spares worth carrying"),
        Field(key="rule", type="anything", text="its rules"),
    ),
)

FINDING = compile_table(
    "finding",
    (
        Field(key="wear", type="number", low=0, high=5, required=True, text="0 as new, 1 at limit"),
        Field(key="words", type="text", required=True, text="what is seen"),
    ),
)

RULE = compile_table(
    "rule",
    (
        Field(key="title", type="text", required=True, text="what to do"),
        Field(key="purpose", type="choice", choices=PURPOSES, required=True, text="why it is done"),
        Field(key="limits", type="anything", required=True, text="how far each clock may run"),
        Field(key="when", type="anything", text="only where a field has this value"),
        Field(key="without_season", type="anything", text="limits for a boat without a season"),
        Field(key="evidence", type="text", text="the limit that findings move"),
        Field(key="window_days", type="whole", unit="d", low=1, high=366, text="days open"),
        Field(
            key="least_days",
            type="whole",
            unit="d",
            low=0,
            high=366,
            default=0,
            text="never nearer",
        ),
        Field(key="isolates", type="yes-no", default=False, text="switches a bank off for storage"),
        Field(
            key="on_request",
            type="yes-no",
            default=False,
            text="off until [[limit]] or a record of it done asks for it",
        ),
        Field(
            key="place",
            type="choice",
            choices=("afloat", "ashore", "any"),
            default="any",
            text="where she must be",
        ),
        Field(key="out_of_water", type="yes-no", default=False, text="she must be lifted"),
        Field(
            key="minutes",
            type="whole",
            unit="min",
            low=1,
            high=6000,
            required=True,
            text="time",
        ),
        Field(key="skills", type="choices", choices=SKILLS, text="skills needed"),
        Field(key="licence", type="text", text="licence scheme needed by law"),
        Field(key="hand", type="choice", choices=HANDS, required=True, text="who may do it"),
        Field(key="binding", type="choice", choices=BINDINGS, text="at most this strong"),
        Field(key="parts", type="texts", text="parts used, by general name"),
        Field(key="tools", type="texts", text="tools to bring"),
        Field(key="cautions", type="ids", text="cautions before the steps"),
        Field(key="steps", type="note", required=True, text="numbered steps in Markdown"),
        Field(key="record", type="text", text="what to write down"),
        Field(key="findings", type="anything", text="findings in words on the wear scale"),
        Field(key="sources", type="ids", required=True, text="who says so"),
        Field(key="scope", type="anything", text="where another binding or limit applies"),
    ),
)

SCOPE = compile_table(
    "scope",
    (
        Field(key="flags", type="flags", text="flag states"),
        Field(key="waters", type="ids", text="jurisdictions of the water"),
        Field(key="uses", type="choices", choices=USES, text="how she is used"),
        Field(key="classes", type="texts", text="classes she is built or coded to"),
        Field(key="schemes", type="texts", text="schemes she is in"),
        Field(key="binding", type="choice", choices=BINDINGS, required=True, text="how strong"),
        Field(key="limits", type="anything", text="its own limits"),
        Field(key="sources", type="ids", required=True, text="who says so"),
    ),
)

PART_LIST = compile_table(
    "list",
    (
        Field(key="title", type="text", required=True, text="heading"),
        Field(key="kinds", type="ids", text="kinds listed"),
        Field(key="roles", type="choices", choices=ROLES, text="roles listed"),
    ),
)

PAGE = compile_table(
    "page",
    (
        Field(key="order", type="whole", low=1, high=99, required=True, text="place in the book"),
        Field(key="title", type="text", required=True, text="what has happened"),
        Field(key="cautions", type="ids", required=True, text="the cautions on top"),
        Field(key="steps", type="note", required=True, text="numbered steps in Markdown"),
        Field(key="lists", type="anything", text="parts listed under the steps"),
    ),
)

SIGNAL = compile_table(
    "signal",
    (
        Field(key="meaning", type="text", required=True, text="what the word means"),
        Field(key="source", type="id", required=True, text="who says so"),
    ),
)

TEXT = compile_table(
    "text",
    (
        Field(key="title", type="text", text="heading"),
        Field(key="body", type="note", required=True, text="Markdown"),
    ),
)

DOCUMENT = compile_table(
    "catalogue file",
    tuple(
        Field(key=key, type="anything", text=text)
        for key, text in (
            ("source", "sources"),
            ("caution", "cautions"),
            ("kind", "kinds with their rules"),
            ("page", "first-minutes pages"),
            ("signal", "signal words"),
            ("text", "the book's own texts"),
        )
    ),
)

"""The rows of every record structure. They check, suggest the nearest key and print the reference."""

from __future__ import annotations

from upkeep.catalogue.tables import LIMIT_FIELDS
from upkeep.model import HANDS, SKILLS, Field, Kind
from upkeep.schema import Table, compile_table

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
USES = ("private", "charter", "hire", "residential", "work")

FROM = Field(key="from", type="day", required=True, text="first day")
TO = Field(key="to", type="day", required=True, text="the day after the last")
TO_OPEN = Field(key="to", type="day", text="the day after the last; absent: still so")
PERIOD = (FROM, TO)
OPEN_PERIOD = (FROM, TO_OPEN)

CONTACT = (
    Field(key="name", type="text", required=True, text="whom to call"),
    Field(key="phone", type="text", text="telephone"),
    Field(key="email", type="email", text="e-mail"),
)
FLEET = (
    Field(key="id", type="id", required=True, text="permanent id of the fleet"),
    Field(key="name", type="text", required=True, text="name people know it by"),
    Field(key="units", type="choice", choices=("metric", "us"), default="metric", text="units"),
    Field(key="language", type="language", default="en", text="language of the handbooks"),
    Field(key="address", type="address", text="public address; absent: no links"),
    Field(key="contact", type="table", fields=CONTACT, required=True, text="whom owners call"),
)
WATER = (
    Field(key="name", type="text", required=True, text="its name"),
    Field(
        key="class",
        type="choice",
        choices=("open", "marina", "rich"),
        required=True,
        text="how fast things grow: open moving water, an ordinary marina, a warm or rich basin",
    ),
    Field(
        key="salinity",
        type="choice",
        choices=("sea", "brackish", "fresh"),
        required=True,
        text="how salt it is",
    ),
    Field(
        key="monthly_c",
        type="month-list",
        unit="°C",
        low=-3,
        high=45,
        required=True,
        text="water temperature by month, January first",
    ),
    Field(
        key="monthly_air_c",
        type="month-list",
        unit="°C",
        low=-60,
        high=60,
        text="air temperature by month",
    ),
    Field(key="jurisdiction", type="id", text="whose rules hold there"),
)
LICENCE = (
    Field(key="scheme", type="text", required=True, text="the scheme"),
    Field(key="number", type="text", required=True, text="its number"),
    Field(key="until", type="day", required=True, text="last valid day"),
)
CREW = (
    Field(key="id", type="id", required=True, text="id of the person"),
    Field(key="name", type="text", required=True, text="name"),
    Field(key="skills", type="choices", choices=SKILLS, required=True, text="what they can do"),
    Field(key="licences", type="tables", fields=LICENCE, text="licences held"),
    Field(
        key="hours",
        type="table",
        required=True,
        text="hours a weekday",
        fields=tuple(
            Field(key=day, type="number", unit="h", low=0, high=24, text=f"hours on {day}")
            for day in WEEKDAYS
        ),
    ),
    Field(key="away", type="tables", fields=PERIOD, text="days away"),
)
LIFT = (
    Field(key="water", type="id", required=True, text="where the hoist is"),
    Field(key="weekdays", type="choices", choices=WEEKDAYS, required=True, text="our days"),
    Field(key="per_day", type="whole", low=1, high=100, required=True, text="boats a day"),
    Field(key="max_t", type="number", unit="t", low=0.1, high=10000, text="heaviest boat"),
    Field(key="max_length_m", type="number", unit="m", low=1, high=300, text="longest boat"),
    Field(key="closed", type="tables", fields=PERIOD, text="days closed"),
)
TRAVEL = (
    Field(
        key="between",
        type="tables",
        text="minutes between waters",
        fields=(
            Field(key="from", type="id", required=True, text="a water"),
            Field(key="to", type="id", required=True, text="another"),
            Field(
                key="minutes", type="number", unit="min", low=0, high=1440, required=True, text="time"
            ),
        ),
    ),
    Field(
        key="set_up_minutes",
        type="number",
        unit="min",
        low=0,
        high=480,
        default=0,
        text="time to set up at a boat",
    ),
)
PART = (
    Field(key="id", type="id", required=True, text="part id"),
    Field(key="lead_days", type="whole", unit="d", low=0, high=1000, default=0, text="to order"),
    Field(key="in_stock", type="whole", low=0, high=100000, default=0, text="on the shelf"),
)
FLEET_DOCUMENT = compile_table(
    "fleet.toml",
    (
        Field(key="fleet", type="table", fields=FLEET, required=True, text="the fleet"),
        Field(key="water", type="anything", required=True, text="its waters, [water.id]"),
        Field(
            key="service",
            type="table",
            text="what the yard does",
            fields=(
                Field(
                    key="yard",
                    type="choices",
                    choices=HANDS,
                    default=("competent", "licensed"),  # type: ignore[arg-type]
                    text="hands the yard takes on",
                ),
                Field(key="also", type="fleet tasks", text="single tasks besides"),
            ),
        ),
        Field(key="crew", type="tables", fields=CREW, text="people"),
        Field(key="lift", type="tables", fields=LIFT, text="hoist days"),
        Field(
            key="ashore",
            type="table",
            text="room ashore",
            fields=(
                Field(key="places", type="whole", low=0, high=10000, required=True, text="places"),
            ),
        ),
        Field(key="travel", type="table", fields=TRAVEL, text="time on the road"),
        Field(key="part", type="tables", fields=PART, text="spares"),
    ),
)
WATER_TABLE = compile_table("water", WATER)

VESSEL = (
    Field(key="id", type="id", required=True, text="the file's name without .toml"),
    Field(key="key", type="uuid", text="permanent key of her calendar"),
    Field(key="name", type="text", required=True, text="her name"),
    Field(key="type", type="text", required=True, text="what she is"),
    Field(key="length_m", type="number", unit="m", low=1, high=300, required=True, text="length"),
    Field(key="beam_m", type="number", unit="m", low=0.3, high=100, text="beam"),
    Field(key="draught_m", type="number", unit="m", low=0.05, high=50, text="draught"),
    Field(key="displacement_t", type="number", unit="t", low=0.05, high=10000, text="displacement"),
    Field(key="built", type="whole", low=1800, high=2200, text="year built"),
    Field(key="water", type="id", required=True, text="the water she lies in"),
    Field(key="flag", type="flag", required=True, text="flag state"),
    Field(key="use", type="choice", choices=USES, required=True, text="how she is used"),
    Field(key="classes", type="texts", text="classes or codes she is built to"),
    Field(key="schemes", type="texts", text="inspection schemes she is in"),
    Field(key="persons", type="whole", low=1, high=1000, text="persons on the builder's plate"),
    Field(key="sleeping", type="yes-no", default=False, text="people sleep aboard"),
    Field(key="berth", type="text", text="where she lies"),
    Field(key="access", type="text", text="how to get aboard"),
    Field(key="keys", type="text", text="where the keys are"),
    Field(key="handed_over", type="day", text="day of hand-over"),
)
OWNER = (
    Field(key="name", type="text", text="name"),
    Field(key="phone", type="text", text="telephone"),
    Field(key="email", type="email", text="e-mail"),
    Field(key="language", type="language", text="language"),
)
SEASON = (
    Field(key="launch", type="month-day", required=True, text="afloat from"),
    Field(key="lay_up", type="month-day", required=True, text="ashore from"),
)
SUPPLY = (
    Field(key="from", type="reference", required=True, text="where the current comes from"),
    Field(key="through", type="references", text="devices on the way, source first"),
    Field(key="ampacity_a", type="number", unit="A", low=0.1, high=5000, text="cable's rating"),
    Field(key="cable_mm2", type="number", unit="mm2", low=0.1, high=1000, text="conductor"),
    Field(key="cable_m", type="number", unit="m", low=0.01, high=500, text="length one way"),
)
INSTALLED = Field(key="installed", type="day", required=True, text="day it was fitted")
COMPONENT = (
    Field(key="id", type="id", required=True, text="id of the component"),
    Field(key="kind", type="id", required=True, text="its kind"),
    Field(key="name", type="text", text="what this one is called aboard"),
    Field(key="maker", type="text", text="maker"),
    Field(key="model", type="text", text="model"),
    Field(key="serial", type="text", text="serial number"),
    Field(key="location", type="text", required=True, text="where it is"),
    Field(key="marked", type="text", text="words printed on it"),
    Field(key="photo", type="photo", text="file in photos/"),
    Field(key="notes", type="note", text="notes"),
    Field(key="hours_per_year", type="number", unit="h", low=0, high=8784, text="hours a year"),
    Field(key="warranty_until", type="day", text="last day of warranty"),
    Field(key="fed_by", type="tables", fields=SUPPLY, text="where its electricity comes from"),
    Field(key="water_from", type="references", text="what is upstream"),
    Field(key="driven_by", type="reference", text="the engine that drives it"),
    Field(key="stays_live", type="yes-no", default=False, text="live when all is switched off"),
    Field(key="parts", type="bindings", text="spares by general name"),
)
FIT_OUT_USE = (
    Field(key="name", type="id", required=True, text="file in fit-outs/ without .toml"),
    Field(key="prefix", type="id", required=True, text="put before each id"),
    INSTALLED,
    Field(key="bind", type="bindings", required=True, text="what each need is here"),
    Field(key="set", type="anything", text="fields set per component"),
)
_LEFT = (*OPEN_PERIOD, Field(key="isolated", type="yes-no", default=False, text="bank off"))
VESSEL_DOCUMENT = compile_table(
    "vessel file",
    (
        Field(key="vessel", type="table", fields=VESSEL, required=True, text="the boat"),
        Field(key="owner", type="table", fields=OWNER, text="her owner"),
        Field(key="season", type="table", fields=SEASON, text="her usual year"),
        Field(key="ashore", type="tables", fields=OPEN_PERIOD, text="days ashore"),
        Field(key="afloat", type="tables", fields=PERIOD, text="a winter afloat"),
        Field(
            key="berth",
            type="tables",
            text="moves to another water",
            fields=(Field(key="water", type="id", required=True, text="the water"), FROM),
        ),
        Field(key="left", type="tables", fields=_LEFT, text="days lying unused"),
        Field(key="component", type="anything", text="what is installed"),
        Field(key="fit_out", type="tables", fields=FIT_OUT_USE, text="fit-outs installed"),
        Field(
            key="last_done",
            type="tables",
            text="work done",
            fields=(
                Field(key="task", type="task", required=True, text="component/rule"),
                Field(key="on", type="day", required=True, text="day it was done"),
                Field(key="wear", type="number", low=0, high=5, text="0 as new, 1 at the limit"),
            ),
        ),
        Field(
            key="limit",
            type="tables",
            text="limits of the vessel's own books",
            fields=(
                Field(key="task", type="task", required=True, text="component/rule"),
                Field(key="source", type="text", required=True, text="which book says so"),
                Field(key="drop", type="yes-no", default=False, text="not done on this vessel"),
                *LIMIT_FIELDS,
            ),
        ),
        Field(
            key="reading",
            type="tables",
            text="values measured",
            fields=(
                Field(key="component", type="id", required=True, text="where"),
                Field(key="name", type="text", required=True, text="which reading"),
                Field(key="on", type="day", required=True, text="day it was read"),
                Field(key="value", type="number", required=True, text="the value"),
                Field(key="commissioning", type="yes-no", default=False, text="read at hand-over"),
            ),
        ),
        Field(
            key="edition",
            type="tables",
            text="signed states of the handbook",
            fields=(
                Field(key="number", type="whole", low=1, high=9999, required=True, text="number"),
                Field(key="on", type="day", required=True, text="day it was signed"),
                Field(key="by", type="text", required=True, text="who signed"),
            ),
        ),
    ),
)
FIT_OUT_DOCUMENT = compile_table(
    "fit-out file",
    (
        Field(key="title", type="text", required=True, text="what it is"),
        Field(key="needs", type="names", text="what the vessel must bind"),
        Field(key="component", type="anything", required=True, text="its components"),
    ),
)


_COMPONENT_TABLES: dict[tuple[int, bool], tuple[Kind, Table]] = {}


def component_table(kind: Kind, *, in_fit_out: bool = False) -> Table:
    """Give the rows of a component of one kind; a fit-out's part has no installed day."""
    key = (id(kind), in_fit_out)  # the kind is kept beside its table, so ids stay its own
    found = _COMPONENT_TABLES.get(key)
    if found is None:
        common = COMPONENT if in_fit_out else (*COMPONENT, INSTALLED)
        table = compile_table(kind.id, (*common, *kind.fields))
        found = _COMPONENT_TABLES[key] = (kind, table)
    return found[1]

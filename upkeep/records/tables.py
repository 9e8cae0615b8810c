"""The rows of every record structure: they check, suggest the nearest key, print the reference."""

from __future__ import annotations

from upkeep.catalogue.tables import LIMIT_FIELDS, USES
from upkeep.model import Field, Kind
from upkeep.schema import Table, compile_table

FROM = Field(key="from", type="day", required=True, text="first day")
TO = Field(key="to", type="day", required=True, text="the day after the last")
TO_OPEN = Field(key="to", type="day", text="the day after the last; absent: still so")
PERIOD = (FROM, TO)
OPEN_PERIOD = (FROM, TO_OPEN)

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
    Field(
        key="location",
        type="text",
        required=True,
        text="where it is; what stands before the first comma heads its place in the walk round",
    ),
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
                Field(
                    key="drop",
                    type="yes-no",
                    default=False,
                    text="true: not done on this vessel; false asks for a task that is off",
                ),
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
        Field(
            key="component", type="anything", required=True, text="its components, [[component]]"
        ),
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

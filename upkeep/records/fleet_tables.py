"""The rows of fleet.toml: who runs the fleet, its crew, lifts, travel and shelf."""

from __future__ import annotations

from upkeep.model import HANDS, SKILLS, Field
from upkeep.records.tables import PERIOD
from upkeep.schema import compile_table

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
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
                key="minutes",
                type="number",
                unit="min",
                low=0,
                high=1440,
                required=True,
                text="time",
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

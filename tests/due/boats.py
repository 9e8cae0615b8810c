"""Random small boats: places, seasons, spells, work done, readings and rules of every limit."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date, timedelta
from functools import lru_cache
from random import Random
from types import MappingProxyType
from typing import Any

from upkeep.catalogue.load import load_builtin
from upkeep.dates import MonthDay, parse_stamp
from upkeep.model import (
    PURPOSES,
    Completion,
    Component,
    Contact,
    Expiry,
    Field,
    Fleet,
    Kind,
    Left,
    Override,
    Period,
    Reading,
    ReadingKind,
    ReadingLimit,
    Rule,
    Scope,
    Season,
    Service,
    Supply,
    Travel,
    Vessel,
    Water,
)

COLD = (3, 2, 4, 7, 11, 15, 18, 18, 15, 11, 7, 4)
MILD = (8, 7, 8, 10, 13, 16, 18, 19, 17, 14, 11, 9)
WARM = (22, 21, 22, 23, 26, 29, 31, 33, 30, 27, 25, 23)
SOUTH = (22, 22, 21, 19, 16, 14, 13, 13, 15, 17, 19, 21)
AIR = (1, -2, 4, 8, 13, 17, 19, 19, 15, 10, 6, 2)
SEASONS = (
    ("04-01", "11-01"),
    ("05-15", "09-20"),
    ("10-01", "05-01"),
    ("11-15", "03-10"),
    ("02-29", "12-24"),
    ("01-01", "10-31"),
    ("04-01", "01-01"),
)


def fill(kind: Any, /, **given: Any) -> Any:
    """Make a value of the model, every part that is not given empty by its type."""
    blanks = {item.name: _blank(str(item.type)) for item in fields(kind)}
    return kind(**{**blanks, **given})


def _blank(kind: str) -> Any:
    if "None" in kind:
        return None
    empty = {"tuple": (), "Mapping": MappingProxyType({}), "str": "", "bool": False}
    return next((value for name, value in empty.items() if kind.startswith(name)), 0)


@lru_cache(maxsize=1)
def make_fleet() -> Fleet:
    """One fleet with a water of each class; the places are those of its waters."""
    rows = [
        ("quay", "marina", "sea", MILD, AIR, "us"),
        ("reach", "open", "sea", COLD, None, ""),
        ("lagoon", "rich", "brackish", WARM, None, "gb"),
        ("lake", "rich", "fresh", MILD, AIR, ""),
        ("cape", "marina", "sea", SOUTH, None, ""),
    ]
    waters = {
        name: Water(
            id=name,
            name=name,
            moving=moving,
            salinity=salinity,
            monthly_c=water,
            monthly_air_c=air,
            jurisdiction=law,
        )
        for name, moving, salinity, water, air, law in rows
    }
    return fill(
        Fleet,
        id="fleet",
        name="Fleet",
        units="metric",
        language="en",
        contact=fill(Contact, name="Quay"),
        waters=MappingProxyType(waters),
        service=Service(yard=("competent",), also=()),
        places_ashore=None,
        travel=Travel(between=MappingProxyType({}), set_up_minutes=0),
        parts=MappingProxyType({}),
    )


def make_boat(seed: int) -> tuple[Vessel, Fleet, date]:
    """Make one boat, her fleet and the day on which she is looked at."""
    return _Maker(Random(seed)).make()


class _Maker:
    def __init__(self, random: Random) -> None:
        self.random = random
        self.today = date(2026, 1, 1) + timedelta(days=random.randrange(900))

    def make(self) -> tuple[Vessel, Fleet, date]:
        random = self.random
        season = None
        if self.chance(0.75):
            launch, lay_up = random.choice(SEASONS)
            season = Season(launch=_month_day(launch), lay_up=_month_day(lay_up))
        ashore, afloat = self.spells()
        self.handed_over = self.past(1500, -60) if self.chance(0.7) else None
        components = self.components()
        vessel = fill(
            Vessel,
            id="skua",
            name="Skua",
            water=random.choice(list(make_fleet().waters)),
            flag=random.choice(("us", "gb", "nl")),
            use=random.choice(("private", "hire")),
            classes=random.choice(((), ("D",), ("A", "B"))),
            length_m=9.0,
            schemes=random.choice(((), ("boat-safety",))),
            handed_over=self.handed_over,
            season=season,
            ashore=ashore,
            afloat=afloat,
            berths=self.berths(),
            left=self.left(),
            file="vessels/skua.toml",
            components=MappingProxyType({c.id: c for c in components}),
            completions=self.completions(components),
            overrides=self.overrides(components),
            readings=self.readings(components),
            editions=(),
        )
        return vessel, make_fleet(), self.today

    def chance(self, share: float) -> bool:
        return self.random.random() < share

    def past(self, most: int, least: int = 0) -> date:
        """A day before today; a negative least reaches past it."""
        return self.today - timedelta(days=self.random.randint(least, most))

    # --- where she was -------------------------------------------------------------------

    def spells(self) -> tuple[tuple[Period, ...], tuple[Period, ...]]:
        """Recorded spells that do not overlap, each ashore or afloat."""
        found: dict[bool, list[Period]] = {True: [], False: []}
        day = self.today - timedelta(days=1200)
        for _ in range(self.random.choice((0, 0, 1, 1, 2, 3, 4))):
            day += timedelta(days=self.random.choice((0, 5, 40, 130, 300, 420)))
            length = self.random.choice((1, 7, 29, 30, 31, 60, 140, 200, 400))
            is_ashore = self.chance(0.65)
            is_open = is_ashore and self.chance(0.08)
            end = None if is_open else day + timedelta(days=length)
            found[is_ashore].append(Period(first=day, end=end))
            if end is None:
                break
            day = end
        return tuple(found[True]), tuple(found[False])

    def left(self) -> tuple[Left, ...]:
        rows = []
        for _ in range(self.random.choice((0, 0, 0, 1, 1, 2))):
            first = self.past(700, -60)
            open_end = self.chance(0.3)
            end = None if open_end else first + timedelta(days=self.random.randint(10, 250))
            rows.append(Left(period=Period(first=first, end=end), isolated=self.chance(0.4)))
        return tuple(rows)

    def berths(self) -> tuple[tuple[str, date], ...]:
        rows = [
            (self.random.choice(list(make_fleet().waters)), self.past(900, -200))
            for _ in range(self.random.choice((0, 0, 0, 1, 2)))
        ]
        return tuple(sorted(rows, key=lambda row: row[1]))

    # --- what is installed ---------------------------------------------------------------

    def components(self) -> list[Component]:
        random = self.random
        builtin = load_builtin().kinds
        engine = self.component(
            "engine",
            replace(builtin["diesel-engine"], rules=self.rules("engine", 2)),
            hours_per_year=random.choice((None, 40, 90, 400)),
        )
        filter_ = self.component(
            "filter",
            replace(builtin["fuel-filter"], rules=self.rules("filter", 1)),
            driven_by=random.choice(("", "engine")),
            hours_per_year=random.choice((None, None, 25)),
        )
        part = self.component(
            "part", replace(PART, rules=self.rules("part", 3)), values=self.stamps()
        )
        return [engine, filter_, part, *self.circuit()]

    def component(self, name: str, kind: Kind, **given: Any) -> Component:
        values = MappingProxyType(given.pop("values", {}))
        installed = given.pop("installed", None) or self.past(1400, -40)
        empty = {"hours_per_year": None, "supplies": (), "driven_by": "", "stays_live": False}
        return fill(
            Component, id=name, kind=kind, installed=installed, values=values, **{**empty, **given}
        )

    def stamps(self) -> dict[str, Any]:
        values: dict[str, Any] = {}
        for field in ("made", "expires"):
            if self.chance(0.7):
                day = self.past(1500, -900)
                text = day.isoformat()[: self.random.choice((4, 7, 10))]
                values[field] = parse_stamp(text)
        if self.chance(0.8):
            values["life"] = self.random.choice((12, 36, 60))
        values["sort"] = self.random.choice(("red", "blue"))
        if self.chance(0.8):
            values["mass_g"] = self.random.choice((100, 900.0))
        if self.chance(0.7):
            values |= {"alloy": self.random.choice(("zinc", "aluminium", "magnesium"))}
            values["current_ma"] = self.random.choice((1, 20.5, 150))
        return values

    def circuit(self) -> list[Component]:
        """A bank, what it feeds, and what is in between."""
        random = self.random
        kinds = load_builtin().kinds
        lithium = self.chance(0.6)
        base = kinds["lithium-bank" if lithium else "lead-acid-bank"]
        values: dict[str, Any] = {"capacity_ah": random.choice((90, 200, 460))}
        values |= (
            {"own_draw_a": 0.003}
            if lithium
            else {"chemistry": random.choice(("flooded", "agm", "gel"))}
        )
        isolate = next(rule for rule in base.rules if rule.isolates)
        bank = self.component(
            "bank", replace(base, rules=(isolate, *self.storage_rules(lithium))), values=values
        )
        breaker = self.component("breaker", replace(kinds["breaker"], rules=()))
        fuse = self.component("fuse", replace(kinds["fuse"], rules=()))
        other = self.component(
            "other",
            replace(kinds["lithium-bank"], rules=()),
            supplies=(supply("panel", ()),),
            values={"own_draw_a": 0.003},
        )
        load = replace(kinds["load"], rules=())
        panel = self.component(
            "panel", load, supplies=(supply("bank", self.through()),), values=self.standby()
        )
        lamp = self.component(
            "lamp",
            load,
            values=self.standby(),
            stays_live=self.chance(0.2),
            supplies=(supply(random.choice(("bank", "panel")), self.through()),),
        )
        pump = self.component(
            "pump",
            load,
            values=self.standby(),
            supplies=(supply("bank", ("fuse",)), supply("bank", ("breaker",))),
        )
        far = self.component(
            "far", load, values={"standby_a": 5.0}, supplies=(supply("other", ()),)
        )
        return [bank, breaker, fuse, panel, lamp, pump, other, far]

    def through(self) -> tuple[str, ...]:
        return self.random.choice(((), ("fuse",), ("breaker",), ("fuse", "breaker")))

    def standby(self) -> dict[str, Any]:
        return self.random.choice(({}, {"standby_a": 0.02}, {"standby_a": 0.12}))

    # --- rules ---------------------------------------------------------------------------

    def rules(self, kind: str, most: int) -> tuple[Rule, ...]:
        count = self.random.randint(1, most)
        return tuple(self.rule(kind, f"rule-{number}") for number in range(count))

    def rule(self, kind: str, name: str) -> Rule:
        random = self.random
        limits = self.limits()
        seasonal = any("lay_up" in key or "launch" in key for key in limits)
        scopes = tuple(self.scope() for _ in range(random.choice((0, 0, 0, 1, 2))))
        return self.base(
            id=name,
            kind=kind,
            purpose=random.choice(PURPOSES),
            limits=MappingProxyType(limits),
            without_season=MappingProxyType(
                self.limits(CALENDAR) if seasonal and self.chance(0.5) else {}
            ),
            when=MappingProxyType({"sort": ("red",)} if self.chance(0.05) else {}),
            least_days=random.choice((0, 0, 7, 30)),
            scopes=scopes,
        )

    def base(self, **given: Any) -> Rule:
        random = self.random
        plain: dict[str, Any] = {
            "binding": random.choice(("practice", "advised", "required")),
            "minutes": 10,
            "window_days": random.choice((None, None, None, 1, 14, 90)),
            "each": (),
            "place": random.choice(("any", "any", "afloat", "ashore")),
            "hand": "owner",
            "when": MappingProxyType({}),
            "without_season": MappingProxyType({}),
            "isolates": False,
            "out_of_water": False,
            "sources": ("s",),
            "least_days": 0,
        }
        return fill(Rule, title="Do it", **{**plain, **given})

    def storage_rules(self, lithium: bool) -> tuple[Rule, ...]:
        floor = 0.2 if lithium else 0.8
        limits: dict[str, Any] = {"charge_to": floor, "months": self.random.choice((1, 3, 3, 12))}
        if self.chance(0.2):
            limits["days"] = self.random.choice((20, 45, 100))
        if self.chance(0.1):
            limits["charge_to"] = self.random.choice((0.0, 0.5, 0.95))
        without = {"months": 6} if self.chance(0.15) else {}
        place = self.random.choice(("any", "any", "any", "any", "ashore", "afloat"))
        recheck = self.base(
            id="recheck",
            kind="bank",
            purpose="inspect",
            limits=MappingProxyType(limits),
            place=place,
            without_season=MappingProxyType(without),
            binding="practice",
            window_days=14 if self.chance(0.1) else None,
        )
        return (recheck,)

    def limits(self, keys: tuple[str, ...] = ()) -> dict[str, Any]:
        random = self.random
        chosen = random.sample(keys or tuple(VALUES), random.choice((1, 1, 1, 2, 2, 3)))
        if not keys and self.chance(0.02):
            return {}
        return {key: random.choice(VALUES[key]) for key in chosen}

    def scope(self) -> Scope:
        random = self.random
        lists = {
            "flags": ("us", "gb"),
            "waters": ("us", "gb"),
            "uses": ("private",),
            "classes": ("A", "C"),
            "schemes": ("boat-safety",),
        }
        given = random.sample(tuple(lists), random.choice((1, 1, 2)))
        return Scope(
            **{key: lists[key] if key in given else () for key in lists},
            binding=random.choice(("practice", "advised", "required")),
            limits=MappingProxyType(self.limits() if self.chance(0.6) else {}),
            sources=("s",),
        )

    # --- what was done and measured ------------------------------------------------------

    def tasks(self, components: list[Component]) -> list[tuple[Component, Rule]]:
        return [(component, rule) for component in components for rule in component.kind.rules]

    def completions(self, components: list[Component]) -> tuple[Completion, ...]:
        rows = [
            Completion(
                component=component.id, rule=rule.id, on=self.past(500, -10), wear=None, path=()
            )
            for component, rule in self.tasks(components)
            for _ in range(self.random.choice((0, 0, 1, 1, 2)))
        ]
        return tuple(sorted(rows, key=lambda row: row.on))

    def overrides(self, components: list[Component]) -> MappingProxyType[Any, Override]:
        rows = {}
        for component, rule in self.tasks(components):
            if not self.chance(0.12):
                continue
            dropped = rule.binding != "required" and self.chance(0.15)
            keys = tuple(key for key in rule.limits if key in VALUES) or CALENDAR
            key = self.random.choice((*keys, *CALENDAR))
            limits = {} if dropped else {key: self.random.choice(VALUES[key])}
            rows[component.id, rule.id] = Override(
                component=component.id,
                rule=rule.id,
                limits=MappingProxyType(limits),
                source="her book",
                dropped=dropped,
                path=(),
            )
        return MappingProxyType(rows)

    def readings(self, components: list[Component]) -> tuple[Reading, ...]:
        rows = []
        value = self.random.uniform(0, 500)
        before = None
        for on in sorted({self.past(900) for _ in range(self.random.choice((0, 1, 2, 3, 4, 6)))}):
            most = 24 * (on - before).days if before else 60
            value = round(value + min(most, self.random.choice((0, 3.5, 20, 60, 700))), 1)
            rows.append(_reading("engine", "engine_h", on, value))
            before = on
        days = {self.past(200) for _ in range(self.random.choice((0, 0, 1, 2)))}
        rows += [
            _reading("bank", "charge", on, round(self.random.uniform(0.15, 1), 2)) for on in days
        ]
        for on in {self.past(900) for _ in range(self.random.choice((0, 1, 2, 4)))}:
            rows.append(_reading("part", "left_g", on, self.random.choice((0, 40, 90, 99, 700))))
        for on in {self.past(700) for _ in range(self.random.choice((0, 1, 2, 5)))}:
            read = _reading("part", "flow", on, self.random.choice((2, 4.5, 5, 9, 12)))
            rows.append(replace(read, commissioning=self.chance(0.3)))
        return tuple(sorted(rows, key=lambda row: (row.component, row.name, row.on)))


def supply(source: str, through: tuple[str, ...]) -> Supply:
    return Supply(source=source, through=through, ampacity_a=None, cable_mm2=None, cable_m=None)


def _month_day(text: str) -> MonthDay:
    return MonthDay(month=int(text[:2]), day=int(text[3:]))


def _reading(component: str, name: str, on: date, value: float) -> Reading:
    return Reading(component=component, name=name, on=on, value=value, commissioning=False, path=())


CALENDAR = ("days", "weeks", "months")
VALUES: dict[str, tuple[Any, ...]] = {
    "days": (1, 10, 45, 200, 700),
    "weeks": (1, 6, 30),
    "months": (1, 3, 6, 12, 24, 60, 240),
    "run_hours": (5, 50, 150.5, 400),
    "fouling_days": (0.5, 10, 30, 75.5, 240),
    "afloat_days": (1, 30, 120, 365, 1500),
    "before_lay_up_days": (0, 5, 30),
    "after_lay_up_days": (0, 3, 30, 90),
    "before_launch_days": (0, 2, 21),
    "after_launch_days": (0, 1, 14, 60),
    "expiry": (
        Expiry(field="made", life_months=0, life_field=""),
        Expiry(field="made", life_months=36, life_field=""),
        Expiry(field="made", life_months=-1, life_field="life"),
        Expiry(field="expires", life_months=0, life_field=""),
    ),
    "anode_used": (0.05, 0.5, 0.9),
    "reading": (
        ReadingLimit(name="flow", above=None, below=5, of_commissioning=False),
        ReadingLimit(name="flow", above=9, below=None, of_commissioning=False),
        ReadingLimit(name="flow", above=None, below=0.9, of_commissioning=True),
        ReadingLimit(name="unread", above=1, below=None, of_commissioning=False),
    ),
}
PART = fill(
    Kind,
    id="part",
    title="part",
    area="other",
    roles=(),
    fields=(Field(key="made", type="stamp"), Field(key="expires", type="stamp")),
    readings=(
        ReadingKind(
            name="left_g",
            unit="g",
            low=0,
            high=1000,
            at_commissioning=False,
            counts_for="anode_used",
            text="",
        ),
        ReadingKind(
            name="flow", unit="", low=0, high=100, at_commissioning=True, counts_for="", text=""
        ),
    ),
    rules=(),
)

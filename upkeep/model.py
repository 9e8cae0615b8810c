"""What a record and the catalogue say, as immutable values. Words as in the glossary of docs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from upkeep.dates import MonthDay, Stamp

PURPOSES = ("restore", "inspect", "prove", "renew")
BINDINGS = ("practice", "advised", "required")  # rising
HANDS = ("owner", "competent", "licensed")
SKILLS = (
    "electrical", "mains", "climate", "refrigerant", "gas", "engine", "fuel", "hull", "rigging",
    "safety",
)  # fmt: skip
AUTHORITIES = ("LAW", "CODE", "STD", "GOV", "MAKER", "TRADE", "NONE")
MARKS = ("SEEN", "SEEN-2", "MEMORY", "PRACTICE")
SIGNAL_WORDS = ("DANGER", "WARNING", "CAUTION", "NOTICE")
EVENTS = ("start", "leaving", "return", "connection", "fuelling", "after_work")
ROLES = (
    "bank", "charger", "protection", "isolates", "shut-off", "consumes", "engine", "burns-fuel",
)  # fmt: skip

DEVICE_ROLES = ("protection", "isolates")  # what stands in a circuit to protect or switch it

CALENDAR_LIMITS = ("days", "weeks", "months")
LAY_UP_LIMITS = ("before_lay_up_days", "after_lay_up_days")
LAUNCH_LIMITS = ("before_launch_days", "after_launch_days")
SEASON_LIMITS = LAY_UP_LIMITS + LAUNCH_LIMITS
DATA_LIMITS = ("run_hours", "anode_used", "reading", "charge_to")  # need a calendar limit too


@dataclass(frozen=True, kw_only=True, slots=True)
class Source:
    """Where a rule, caution or figure comes from, and how well it was read (mark)."""

    id: str
    title: str
    edition: str
    section: str
    authority: str
    mark: str
    range: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Caution:
    """A safety statement: hazard, what happens, how to avoid it."""

    id: str
    word: str
    hazard: str
    consequence: str
    avoid: tuple[str, ...]
    injury: bool
    sources: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Draw:
    """Current drawn from the supply [A]: at part load, as usual, at most."""

    low: float
    usual: float
    full: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Output:
    """Current given [A]: engine idling, and cruising. Equal for a charger without an engine."""

    idle: float
    cruise: float


FieldValue = float | str | bool | Stamp | Draw | Output | tuple[float, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Expiry:
    """A limit given by a stamp on the part: the field that holds it, and a life after it.

    life_field names the component's own field for the life where life_months is -1.
    """

    field: str
    life_months: int
    life_field: str


@dataclass(frozen=True, kw_only=True, slots=True)
class ReadingLimit:
    """A limit on a measured value; of_commissioning makes it a fraction of the first one."""

    name: str
    above: float | None
    below: float | None
    of_commissioning: bool


LimitValue = float | int | Expiry | ReadingLimit
Limits = Mapping[str, LimitValue]


@dataclass(frozen=True, kw_only=True, slots=True)
class Scope:
    """Where another binding or limit applies; every list given must hold the vessel's own."""

    flags: tuple[str, ...]
    waters: tuple[str, ...]
    uses: tuple[str, ...]
    classes: tuple[str, ...]
    schemes: tuple[str, ...]
    binding: str
    limits: Limits
    sources: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Finding:
    """What is seen, in words, and how worn that is: 0 as new, 1 at the limit."""

    wear: float
    words: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Rule:
    """What is to be done to a kind, how far it may run, and who says so."""

    id: str
    kind: str
    title: str
    purpose: str
    binding: str
    limits: Limits
    each: tuple[str, ...]
    when: Mapping[str, tuple[object, ...]]
    without_season: Limits
    evidence: str
    window_days: int | None
    least_days: int
    isolates: bool
    place: str
    out_of_water: bool
    minutes: int
    skills: tuple[str, ...]
    licence: str
    hand: str
    parts: tuple[str, ...]
    tools: tuple[str, ...]
    cautions: tuple[str, ...]
    steps: str
    record: str
    findings: tuple[Finding, ...]
    sources: tuple[str, ...]
    scopes: tuple[Scope, ...]
    on_request: bool = False  # off until a [[limit]], a record of it done or a scope asks for it


@dataclass(frozen=True, kw_only=True, slots=True)
class Field:
    """One row of a schema table: a key, its type and range, and what it is in a few words.

    unit "0-1" is a fraction. low and high are inclusive. fields holds the rows of a table
    inside.
    """

    key: str
    type: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    default: FieldValue | None = None
    required: bool = False
    text: str = ""
    fields: tuple[Field, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class ReadingKind:
    """A value that is measured on a kind; counts_for names the limit it drives."""

    name: str
    unit: str
    low: float
    high: float
    at_commissioning: bool
    counts_for: str
    text: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Symptom:
    """What an owner sees when a part fails, and what to check, easiest and safest first."""

    sees: str
    checks: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Kind:
    """A type of component: what is recorded of it, what healthy looks like, its rules."""

    id: str
    title: str
    area: str
    roles: tuple[str, ...]
    what: str
    fields: tuple[Field, ...]
    readings: tuple[ReadingKind, ...]
    healthy: tuple[str, ...]
    symptoms: tuple[Symptom, ...]
    cautions: tuple[str, ...]
    spares: tuple[str, ...]
    rules: tuple[Rule, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class EmergencyPage:
    """One page of the first chapter: what to do in the first minutes, and which parts to list."""

    id: str
    order: int
    title: str
    cautions: tuple[str, ...]
    steps: str
    lists: tuple[PartList, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class PartList:
    """A list of components printed by kind or role."""

    title: str
    kinds: tuple[str, ...]
    roles: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class BookText:
    """A passage of the handbook that is the same for every vessel, in Markdown."""

    title: str
    body: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Catalogue:
    """Everything the tool knows: kinds with rules, cautions, sources, the book's own texts."""

    kinds: Mapping[str, Kind]
    cautions: Mapping[str, Caution]
    sources: Mapping[str, Source]
    pages: tuple[EmergencyPage, ...]
    signals: Mapping[str, tuple[str, str]]
    texts: Mapping[str, BookText]


@dataclass(frozen=True, kw_only=True, slots=True)
class Water:
    """A body of water: how fast it fouls and how warm it is, month by month [°C]."""

    id: str
    name: str
    moving: str  # open, marina or rich
    salinity: str  # sea, brackish or fresh
    monthly_c: tuple[float, ...]
    monthly_air_c: tuple[float, ...] | None
    jurisdiction: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Period:
    """Days from first to before end; end None runs on."""

    first: date
    end: date | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Licence:
    """A person's licence; until is its last valid day."""

    scheme: str
    number: str
    until: date


@dataclass(frozen=True, kw_only=True, slots=True)
class CrewMember:
    """One person: skills, licences, hours a weekday, days away."""

    id: str
    name: str
    skills: tuple[str, ...]
    licences: tuple[Licence, ...]
    hours: Mapping[str, float]
    away: tuple[Period, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Lift:
    """The days the hoist is ours at a water, how many boats, how large."""

    water: str
    weekdays: tuple[str, ...]
    per_day: int
    max_t: float | None
    max_length_m: float | None
    closed: tuple[Period, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Travel:
    """Minutes between two waters, and to set up at a boat."""

    between: Mapping[tuple[str, str], float]
    set_up_minutes: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Part:
    """A spare on the shelf or to be ordered."""

    id: str
    lead_days: int
    in_stock: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Contact:
    """Whom the owner calls."""

    name: str
    phone: str
    email: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Service:
    """What the yard does: hands it takes on, and single tasks besides."""

    yard: tuple[str, ...]
    also: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Fleet:
    """The folder: who runs it, its waters, crew, lifts and shelf."""

    id: str
    name: str
    units: str
    language: str
    address: str
    contact: Contact
    waters: Mapping[str, Water]
    service: Service
    crew: tuple[CrewMember, ...]
    lifts: tuple[Lift, ...]
    places_ashore: int | None
    travel: Travel
    parts: Mapping[str, Part]


@dataclass(frozen=True, kw_only=True, slots=True)
class Supply:
    """One way a component gets its electricity; through lists devices, source first."""

    source: str
    through: tuple[str, ...]
    ampacity_a: float | None
    cable_mm2: float | None
    cable_m: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Component:
    """One installed thing. values holds its kind's own fields, defaults filled in.

    assumed names the fields nobody recorded, which hold the kind's usual value.

    path is where it stands in the vessel's file, for messages.
    """

    id: str
    kind: Kind
    name: str
    maker: str
    model: str
    serial: str
    location: str
    marked: str
    photo: str
    notes: str
    installed: date
    hours_per_year: float | None
    warranty_until: date | None
    supplies: tuple[Supply, ...]
    water_from: tuple[str, ...]
    driven_by: str
    stays_live: bool
    parts: Mapping[str, str]
    values: Mapping[str, FieldValue]
    path: tuple[str | int, ...]
    assumed: frozenset[str] = frozenset()

    @property
    def title(self) -> str:
        """Say what a reader calls it: its own name, else its kind.

        A nameless device of a circuit adds the words printed on it: breaker “BILGE”.
        """
        mark = self.marked.strip()
        if self.name or not mark or not any(map(self.has_role, DEVICE_ROLES)):
            return self.name or self.kind.title
        opening, closing = "\N{LEFT DOUBLE QUOTATION MARK}", "\N{RIGHT DOUBLE QUOTATION MARK}"
        return f"{self.kind.title} {opening}{mark}{closing}"

    def has_role(self, role: str) -> bool:
        """Tell whether its kind plays a role: bank, charger, protection, isolates or another."""
        return role in self.kind.roles


@dataclass(frozen=True, kw_only=True, slots=True)
class Completion:
    """Work done on a day, and how worn the part was found.

    wear_low, wear_high: bounds where only these are known. left: wear when the work was over.
    """

    component: str
    rule: str
    on: date
    wear: float | None
    path: tuple[str | int, ...]
    wear_low: float | None = None
    wear_high: float | None = None
    left: float = 0.0

    @property
    def has_finding(self) -> bool:
        """Tell whether anything is known of the wear found: a figure, or a bound."""
        bounded = self.wear_low is not None or self.wear_high is not None
        return self.wear is not None or bounded


@dataclass(frozen=True, kw_only=True, slots=True)
class Override:
    """A limit the vessel's own books set, merged key by key over the rule's."""

    component: str
    rule: str
    limits: Limits
    source: str
    dropped: bool
    path: tuple[str | int, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Reading:
    """A measured value on a day."""

    component: str
    name: str
    on: date
    value: float
    commissioning: bool
    path: tuple[str | int, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Season:
    """The usual year: afloat from launch (inclusive) to lay-up (exclusive)."""

    launch: MonthDay
    lay_up: MonthDay


@dataclass(frozen=True, kw_only=True, slots=True)
class Left:
    """Days she lay unused; isolated says the bank was switched off."""

    period: Period
    isolated: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Owner:
    """The person the book and the calendar are for."""

    name: str
    phone: str
    email: str
    language: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Edition:
    """A numbered, signed state of the handbook."""

    number: int
    on: date
    by: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Vessel:
    """One boat: what she is, where she lies, what is installed, what was done and measured."""

    id: str
    key: str
    name: str
    type: str
    length_m: float
    beam_m: float | None
    draught_m: float | None
    displacement_t: float | None
    built: int | None
    water: str
    flag: str
    use: str
    classes: tuple[str, ...]
    schemes: tuple[str, ...]
    persons: int | None
    sleeping: bool
    berth: str
    access: str
    keys: str
    handed_over: date | None
    owner: Owner
    season: Season | None
    ashore: tuple[Period, ...]
    afloat: tuple[Period, ...]
    berths: tuple[tuple[str, date], ...]
    left: tuple[Left, ...]
    components: Mapping[str, Component]
    completions: tuple[Completion, ...]
    overrides: Mapping[tuple[str, str], Override]
    readings: tuple[Reading, ...]
    editions: tuple[Edition, ...]
    file: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Reason:
    """One limit behind a date: how far it may run from its anchor, and the day it allows."""

    clock: str
    limit: float | str | None
    unit: str
    anchor: date
    allows: date | None
    text: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Moved:
    """A limit moved by what was found, both figures in the clock's unit.

    bound: none, low, high or hard: what held it. evidence: what the findings alone say.
    count: the looks behind it.
    """

    clock: str
    base: float
    now: float
    evidence: float
    unit: str
    bound: str
    count: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Task:
    """A rule on one component of one vessel, with its dates and every reason behind them."""

    vessel: str
    component: Component
    rule: Rule
    binding: str
    sources: tuple[str, ...]
    anchor: date
    done: bool  # the anchor is a completion
    due: date | None
    opens: date | None
    shown_on: date | None
    standing: str
    reasons: tuple[Reason, ...]
    then: tuple[date, ...]
    can_be_done_now: bool  # she is afloat or ashore as the task needs, today
    moved: Moved | None = None

    @property
    def local_id(self) -> str:
        """Name the task inside its vessel: component/rule."""
        return f"{self.component.id}/{self.rule.id}"

    @property
    def id(self) -> str:
        """Name the task in the fleet: vessel/component/rule."""
        return f"{self.vessel}/{self.component.id}/{self.rule.id}"

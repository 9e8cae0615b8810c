"""The catalogue as a reference to read: each kind, its rules, their sources, in plain lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import log10
from typing import Literal

from upkeep.dates import Stamp
from upkeep.handbook.authority import say_scope, say_source
from upkeep.handbook.wording import open_with_capital, say_all, say_count
from upkeep.model import (
    CALENDAR_LIMITS,
    SEASON_LIMITS,
    Catalogue,
    Draw,
    Expiry,
    Field,
    Kind,
    Limits,
    LimitValue,
    Output,
    ReadingLimit,
    Rule,
    Scope,
)

Style = Literal["kind", "head", "rule", "text", "item", "step", "code"]
AREAS = (
    "raw water", "climate", "power", "engine", "metal", "fire and life", "gas", "fresh water",
    "waste water", "hull and deck",
)  # fmt: skip
OCCASIONS = {
    "start": "each time before starting up",
    "leaving": "each time she is left",
    "return": "each time somebody comes back to her",
    "connection": "each time a supply is connected",
    "fuelling": "each time fuel is taken",
    "after_work": "after any work on it",
}
_COUNTED = {
    "run_hours": "every {number} hours run",
    "afloat_days": "every {number} days afloat",
    "fouling_days": "every {number} days of growth, counted as days in water of 20 °C",
    "charge_to": "in storage, before the charge falls to {share}",
    "anode_used": "when {share} of it is gone",
}
_RAW_WATER_USERS = ("climate-unit", "diesel-engine", "petrol-engine", "generator", "toilet",
                    "watermaker")  # fmt: skip
_DRIVEN = ("impeller-pump", "drive-belt", "alternator", "gearbox", "saildrive")
_SHAPES = {
    "draw": "a number, or { low = 1, usual = 2, full = 3 }",
    "output": "a number, or { idle = 1, cruise = 2 }",
}
_BINDINGS = {
    "required": "required",
    "advised": "advised",
    "practice": "common practice, change as you wish",
}


_INTRODUCTION = """# Kinds

What the catalogue knows: each kind of part, what to record of it, what right looks like, what
goes wrong, and its rules with their sources. `walkround kinds KIND` prints one of them. Where a
source is law it binds only in the scope that is named; a habit of the trade is marked as one.
Local codes, the maker's own book and licensed people come first. This page is printed from the
catalogue."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the reference: how it stands on the page, and its text."""

    style: Style
    text: str


def explain_kind(catalogue: Catalogue, kind: Kind) -> tuple[Line, ...]:
    """Explain one kind whole: what to record, what right looks like, its rules, an example."""
    return tuple(_lines_of_kind(catalogue, kind))


def print_kinds(catalogue: Catalogue) -> str:
    """Write every kind and source as one Markdown page, by area."""
    parts = [_INTRODUCTION]
    for area, kinds in group_by_area(catalogue.kinds.values()):
        parts.append(f"## {open_with_capital(area)}")
        for kind in kinds:
            parts.append(print_kind(catalogue, kind))
    return "\n\n".join(parts) + "\n"


def group_by_area(kinds: Iterable[Kind]) -> Iterator[tuple[str, list[Kind]]]:
    """Group kinds by the part of the boat they belong to; areas of a fleet's own come last."""
    areas: dict[str, list[Kind]] = {area: [] for area in AREAS}
    for kind in kinds:
        areas.setdefault(kind.area, []).append(kind)
    return ((area, found) for area, found in areas.items() if found)


def print_kind(catalogue: Catalogue, kind: Kind) -> str:
    """Write one kind as Markdown."""
    blocks: list[tuple[Style, list[str]]] = []
    for line in explain_kind(catalogue, kind):
        if blocks and blocks[-1][0] == line.style and line.style in ("item", "step", "code"):
            blocks[-1][1].append(line.text)
        else:
            blocks.append((line.style, [line.text]))
    return "\n\n".join(_write_block(style, texts) for style, texts in blocks)


def _write_block(style: Style, texts: Sequence[str]) -> str:
    if style == "code":
        return "\n".join(["```toml", *texts, "```"])
    plain = [text.replace("<", "&lt;").replace("*", "\\*").replace("_", "\\_") for text in texts]
    if style == "item":
        return "\n".join(f"- {text}" for text in plain)
    if style == "step":
        return "\n".join(f"{number}. {text}" for number, text in enumerate(plain, start=1))
    marks = {"kind": "### ", "head": "**", "rule": "#### ", "text": ""}
    return f"{marks[style]}{plain[0]}{'**' if style == 'head' else ''}"


def _lines_of_kind(catalogue: Catalogue, kind: Kind) -> Iterator[Line]:
    yield Line("kind", f"{kind.id}: {kind.title}")
    if kind.what:
        yield Line("text", kind.what)
    yield from _list("What to record", map(_say_field, kind.fields))
    yield from _list("Readings", (
        f"{r.name}: {r.text or 'a measured value'} ({_say_range(r.low, r.high, r.unit)}"
        f"{'; read at hand-over' if r.at_commissioning else ''})"
        for r in kind.readings
    ))  # fmt: skip
    yield from _list("What right looks like", kind.healthy)
    for symptom in kind.symptoms:
        yield Line("head", f"If {symptom.sees[:1].lower()}{symptom.sees[1:]}")
        yield from (Line("step", check) for check in symptom.checks)
    named = dict.fromkeys((*kind.cautions, *(n for rule in kind.rules for n in rule.cautions)))
    yield from _list("Cautions", (_say_caution(catalogue, name) for name in named))
    yield from _list("Spares", [say_all(kind.spares)] if kind.spares else ())
    for rule in kind.rules:
        yield from _lines_of_rule(catalogue, rule)
    yield Line("head", "Example")
    yield from (Line("code", text) for text in write_example(kind))


def _list(title: str, texts: Iterable[str]) -> Iterator[Line]:
    rows = list(texts)
    if rows:
        yield Line("head", title)
        yield from (Line("item", text) for text in rows)


def _say_field(row: Field) -> str:
    words = []
    if row.choices:
        words.append(f"one of {', '.join(row.choices)}")
    if row.type in _SHAPES:
        words.append(_SHAPES[row.type])
    if row.low is not None and row.high is not None:
        words.append(_say_range(row.low, row.high, row.unit))
    if row.default is not None:
        words.append(f"else {_say_default(row.default)}")
    if row.required:
        words.append("needed")
    range_said = f" ({'; '.join(words)})" if words else ""
    return f"{row.key}: {row.text}{range_said}"


def _say_range(low: float, high: float, unit: str) -> str:
    return f"{low:g} to {high:g}{'' if unit == '0-1' else f' {unit}'}".rstrip()


def _say_default(value: object) -> str:
    if isinstance(value, bool):
        return "no" if not value else "yes"
    if isinstance(value, Stamp):
        return value.text
    if isinstance(value, Draw):
        return f"{value.low:g}, {value.usual:g}, {value.full:g}"
    if isinstance(value, Output):
        return f"{value.idle:g}, {value.cruise:g}"
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def _say_caution(catalogue: Catalogue, name: str) -> str:
    caution = catalogue.cautions[name]
    return f"{caution.word}: {caution.hazard} {caution.consequence} {' '.join(caution.avoid)}"


def _lines_of_rule(catalogue: Catalogue, rule: Rule) -> Iterator[Line]:
    yield Line("rule", f"{rule.id}: {rule.title}")
    yield Line("text", open_with_capital(f"{say_limits(rule.limits, rule.each)}."))
    yield from (Line("text", text) for text in _say_terms(rule))
    if rule.cautions:
        hazards = (catalogue.cautions[name] for name in rule.cautions)
        said = "; ".join(f"{c.word}: {c.hazard.rstrip('.')}" for c in hazards)
        yield Line("text", f"Printed before the steps: {said}.")
    for step in rule.steps.strip().splitlines():
        yield Line("step", step.partition(". ")[2] if step[:1].isdigit() else step)
    if rule.record:
        yield Line("text", rule.record)
    if rule.findings:
        found = "; ".join(f"{f.wear:g} {f.words}" for f in rule.findings)
        yield Line("text", f"Findings, 0 as new and 1 at the limit: {found}.")
    for scope in rule.scopes:
        yield Line("item", _say_scope(scope))
    named = dict.fromkeys((*rule.sources, *(n for scope in rule.scopes for n in scope.sources)))
    for name in named:
        scopes = [scope for scope in rule.scopes if name in scope.sources]
        yield Line("item", say_source(catalogue.sources[name], scopes))


def _say_terms(rule: Rule) -> Iterator[str]:
    hand = f"{rule.hand}{f', skills: {say_all(rule.skills)}' if rule.skills else ''}"
    if rule.licence:
        hand += f", licence: {rule.licence}"
    place = "she is lifted for it" if rule.out_of_water else {
        "any": "", "afloat": "done afloat", "ashore": "done ashore"
    }[rule.place]  # fmt: skip
    minutes = say_count(rule.minutes, "minutes")
    terms = filter(None, (rule.purpose, _BINDINGS[rule.binding], hand, minutes, place))
    yield f"{open_with_capital('; '.join(terms))}."
    if rule.on_request:
        yield "Off until asked for: write [[limit]] with this task and drop = false."
    if rule.when:
        asked = (f"{key} is {say_all([_say_default(v) for v in values], 'or')}"
                 for key, values in rule.when.items())  # fmt: skip
        yield f"Only where {say_all(list(asked))}."
    if rule.without_season:
        yield f"On a boat without a season: {say_limits(rule.without_season)}."
    if rule.least_days:
        yield f"Growth never brings it nearer than {say_count(rule.least_days, 'days')}."
    if rule.window_days is not None:
        yield f"It can be done from {say_count(rule.window_days, 'days')} before."
    if rule.isolates:
        yield "It switches a bank off for storage."
    if rule.parts or rule.tools:
        yield f"Bring: {say_all((*rule.parts, *rule.tools))}."


def _say_scope(scope: Scope) -> str:
    limits = f": {say_limits(scope.limits)}" if scope.limits else ""
    return f"{open_with_capital(_BINDINGS[scope.binding])} for {say_scope(scope)}{limits}"


def say_limits(limits: Limits, each: Sequence[str] = ()) -> str:
    """Say all limits of a rule: "every 3 months or ... , whichever comes first"."""
    words = [say_limit(key, value) for key, value in limits.items()]
    words += [OCCASIONS[event] for event in each]
    if not words:
        return "as the maker's own book says; no date until it is recorded"
    if len(words) == 1 or each:
        return say_all(words)
    return f"{say_all(words, 'or')}, whichever comes first"


def say_limit(key: str, value: LimitValue) -> str:
    """Say one limit: "every 12 months", "14 days before lay-up"."""
    if isinstance(value, Expiry):
        return _say_expiry(value)
    if isinstance(value, ReadingLimit):
        side = "above" if value.above is not None else "below"
        bound = value.above if value.above is not None else value.below or 0.0
        said = f"{bound * 100:g} % of its first value" if value.of_commissioning else f"{bound:g}"
        return f"at once when {value.name} is {side} {said}"
    if key in CALENDAR_LIMITS:
        return f"every {key[:-1]}" if value == 1 else f"every {value:g} {key}"
    if key in SEASON_LIMITS:
        side, _, event = key.removesuffix("_days").partition("_")
        event = event.replace("_", "-")
        return f"{say_count(int(value), 'days')} {side} {event}" if value else f"at {event}"
    return _COUNTED[key].format(number=f"{value:g}", share=f"{value * 100:g} %")


def _say_expiry(limit: Expiry) -> str:
    if limit.life_field:
        return f"by the date in {limit.field} and the life in {limit.life_field}"
    if not limit.life_months:
        return f"by the date printed on it ({limit.field})"
    years, months = divmod(limit.life_months, 12)
    life = say_count(limit.life_months, "months") if months else say_count(years, "years")
    return f"{life} after the date in {limit.field}"


def write_example(kind: Kind) -> tuple[str, ...]:
    """Write a block to paste into a vessel's file; every line of it passes the check."""
    lines = [
        "[[component]]",
        f'id = "{kind.id}"',
        f'kind = "{kind.id}"',
        'location = "where it is, in words"',
        "installed = 2026-05-01",
    ]
    needed = [row for row in kind.fields if row.required]
    other = [row for row in kind.fields if not row.required]
    lines += [f"{row.key} = {_write_value(row)}" for row in needed]
    lines += [f"# {row.key} = {_write_value(row)}  # {row.text}" for row in other]
    if "consumes" in kind.roles:
        lines.append('# fed_by = [{ from = "bank", through = ["fuse", "breaker"] }]')
    if kind.area == "raw water" or kind.id in _RAW_WATER_USERS:
        lines.append('# water_from = ["strainer"]  # what is immediately upstream')
    if kind.id in _DRIVEN:
        lines.append('# driven_by = "engine"  # its hours count')
    return tuple(lines)


def _write_value(row: Field) -> str:
    if row.default is not None and isinstance(row.default, int | float | str):
        if isinstance(row.default, bool):
            return "true" if row.default else "false"
        return f'"{row.default}"' if isinstance(row.default, str) else f"{row.default:g}"
    if row.type == "choice":
        return f'"{row.choices[0]}"'
    if row.type in ("text", "stamp"):
        return '"2027-06"' if row.type == "stamp" else '"…"'
    if row.type == "yes-no":
        return "true"
    if row.type == "month-list":
        return str([10] * 12)
    return _usual_number(row)


def _usual_number(row: Field) -> str:
    """Give a round number in the middle of a field's range, on a scale of tens."""
    low, high = row.low or 0, row.high if row.high is not None else 100
    if low < 0 or high <= 1:
        return f"{(low + high) / 2:.2g}"
    middle = 10 ** ((log10(max(low, 0.1)) + log10(high)) / 2)
    return f"{min(max(float(f'{middle:.1g}'), low), high):g}"

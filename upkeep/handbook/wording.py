"""Plain words for a book: lines of text, lists of things, months, hours, values of a record."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from upkeep.dates import MONTH_NAMES, Stamp
from upkeep.due.reasons import LONGEST_SAID_DAYS
from upkeep.handbook.blocks import Block, Checklist, Line, Listing, Paragraph, Span
from upkeep.model import Component, Draw, Field, FieldValue, Output
from upkeep.units import show_quantity

NO_SOURCE = "common practice, no source"
LONG_TIME = "over six months"  # LONGEST_SAID_DAYS in words
_IN_DAYS_H = 72  # longer run times are said in days


def make_line(text: str) -> Line:
    """Make a line of one plain run of text."""
    return (Span(text=text),)


def make_labelled(label: str, text: str) -> Line:
    """Make a line that opens with a strong label."""
    return (Span(text=f"{label} ", strong=True), Span(text=text))


def make_reference(text: str, to: str, *, strong: bool = False) -> Line:
    """Make a line that leads to a card by its anchor."""
    return (Span(text=text, strong=strong, to=to),)


def make_paragraph(text: str) -> Paragraph:
    """Make running text."""
    return Paragraph(line=make_line(text))


def make_listing(texts: Iterable[str]) -> Listing:
    """Make a list without numbers."""
    return Listing(ordered=False, items=tuple(map(make_line, texts)))


def make_tickable(blocks: Iterable[Block]) -> tuple[Block, ...]:
    """Turn numbered lists into checklists; the rest stays."""
    return tuple(
        Checklist(items=block.items) if isinstance(block, Listing) and block.ordered else block
        for block in blocks
    )


def open_with_capital(text: str) -> str:
    """Write the first letter large, as a heading begins; the rest stays as recorded."""
    first = text[:1].upper()
    return first + text[1:] if len(first) == 1 else text


def quote(text: str) -> str:
    """Put words that are printed on a part between quotation marks."""
    return f"\N{LEFT DOUBLE QUOTATION MARK}{text}\N{RIGHT DOUBLE QUOTATION MARK}"


def say_mark(component: Component) -> str:
    """Say the words printed on a part, quoted; "" without any, or where its title has them."""
    marked = component.marked.strip()
    return "" if not marked or quote(marked) in component.title else quote(marked)


def say_place(component: Component) -> str:
    """Say where a part is and what is printed on it: "galley, marked “SEA 1”"."""
    mark = say_mark(component)
    return ", ".join(filter(None, (component.location, mark and f"marked {mark}")))


def blank_if_empty(text: str) -> str | None:
    """Give None, a blank to fill in by pen, for what nobody recorded."""
    return text if text.strip() else None


def say_all(texts: Sequence[str], last: str = "and") -> str:
    """Join things as a sentence does: "a, b and c"."""
    if len(texts) < 2:
        return "".join(texts)
    return f"{', '.join(texts[:-1])} {last} {texts[-1]}"


def say_count(count: int, unit: str) -> str:
    """Write a count with its unit, given in the plural: "1 day", "3 days"."""
    return f"{count} {unit[:-1] if count == 1 else unit}"


def say_months(months: Collection[int]) -> str:
    """Write months (1 to 12) as spans: "May to September", "November to March and June"."""
    if len(set(months)) == 12:
        return "all year"
    spans = []
    for first in sorted(set(months)):
        if (first - 2) % 12 + 1 in months:
            continue
        last = first
        while last % 12 + 1 in months:
            last = last % 12 + 1
        names = (MONTH_NAMES[first - 1], MONTH_NAMES[last - 1])
        spans.append(names[0] if first == last else " to ".join(names))
    return say_all(spans)


def say_hours(hours: float) -> str:
    """Write a time to three figures: "9.66 h", "17.0 h", "12 days", "over six months"."""
    if hours > LONGEST_SAID_DAYS * 24:
        return LONG_TIME
    if hours > _IN_DAYS_H:
        return say_count(int(hours // 24), "days")
    return f"{hours:#.3g} h" if hours >= 1 else f"{hours:.2f} h"


def say_percent(fraction: float) -> str:
    """Write a fraction as a whole percentage."""
    return f"{fraction * 100:.0f} %"


def say_rise(value_k: float, units: str) -> str:
    """Write a difference of temperature in degrees, as an owner reads them."""
    return show_quantity(value_k, "K", units).replace(" K", " °C", 1)


def name_field(row: Field) -> str:
    """Name a field in a few words: a choice by its key, others by how their text begins."""
    if row.type == "choice":
        return open_with_capital(row.key.replace("_", " "))
    ends = [at for mark in ",;:" if (at := row.text.find(mark)) > 0]
    return open_with_capital(row.text[: min(ends, default=len(row.text))])


def say_value(row: Field, value: FieldValue, units: str, *, assumed: bool = False) -> str:
    """Write a value; one nobody recorded, left as it usually is, says so."""
    text = _say_bare(row, value, units)
    if not assumed:
        return text
    return f"{text} (check it)" if isinstance(value, bool) else f"{text} (usual value, check it)"


def _say_bare(row: Field, value: FieldValue, units: str) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Stamp):
        return value.text
    if isinstance(value, Draw | Output):
        return _say_current(value, units)
    if isinstance(value, tuple):
        return ", ".join(f"{item:g}" for item in value)
    if isinstance(value, str):
        return value
    return say_rise(value, units) if row.unit == "K" else show_quantity(value, row.unit, units)


def _say_current(value: Draw | Output, units: str) -> str:
    if isinstance(value, Draw):
        named = {"least": value.low, "usual": value.usual, "full": value.full}
    else:
        named = {"idling": value.idle, "cruising": value.cruise}
    if len(set(named.values())) == 1:
        return show_quantity(next(iter(named.values())), "A", units)
    return ", ".join(f"{show_quantity(x, 'A', units)} {name}" for name, x in named.items())

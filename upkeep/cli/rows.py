"""Tasks and problems as the JSON rows that the commands promise."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from upkeep.errors import Problem
from upkeep.model import Moved, Reason, Task


def problem_rows(problems: Iterable[Problem]) -> list[dict[str, Any]]:
    """Give problems as JSON values."""
    return [{"file": p.file, "line": p.line, "message": p.message, "fix": p.fix} for p in problems]


def task_row(task: Task) -> dict[str, Any]:
    """Give one task as JSON values."""
    return {
        "task": task.id,
        "vessel": task.vessel,
        "component": task.component.id,
        "rule": task.rule.id,
        "title": task.rule.title,
        "purpose": task.rule.purpose,
        "due": _day(task.due),
        "opens": _day(task.opens),
        "shown_on": _day(task.shown_on),
        "standing": task.standing,
        "binding": task.binding,
        "hand": task.rule.hand,
        "minutes": task.rule.minutes,
        "out_of_water": task.rule.out_of_water,
        "reasons": [_reason(reason) for reason in task.reasons],
        "moved": _moved(task.moved),
        "sources": list(task.sources),
        "then": [day.isoformat() for day in task.then],
    }


def _moved(moved: Moved | None) -> dict[str, Any] | None:
    if moved is None:
        return None
    return {
        "clock": moved.clock,
        "base": moved.base,
        "now": moved.now,
        "unit": moved.unit,
        "bound": moved.bound,
    }


def _reason(reason: Reason) -> dict[str, Any]:
    return {
        "clock": reason.clock,
        "limit": reason.limit,
        "unit": reason.unit,
        "anchor": reason.anchor.isoformat(),
        "allows": _day(reason.allows),
        "text": reason.text,
    }


def _day(day: date | None) -> str | None:
    return day.isoformat() if day else None

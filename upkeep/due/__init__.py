"""When each task of a vessel falls due, and every reason behind the date."""

from upkeep.due.lapses import Lapse, find_lapses
from upkeep.due.tasks import (
    find_occasional,
    find_tasks,
    forecast_hours,
    list_undated,
    suppose_found,
    task_inputs,
)

__all__ = [
    "Lapse", "find_lapses", "find_occasional", "find_tasks", "forecast_hours", "list_undated",
    "suppose_found", "task_inputs",
]  # fmt: skip

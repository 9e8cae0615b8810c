"""When each task of a vessel falls due, and every reason behind the date."""

from upkeep.due.tasks import (
    find_occasional,
    find_tasks,
    forecast_hours,
    list_undated,
    task_inputs,
)

__all__ = ["find_occasional", "find_tasks", "forecast_hours", "list_undated", "task_inputs"]

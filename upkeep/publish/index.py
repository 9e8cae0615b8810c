"""The index page: every vessel with her next tasks and the files that are hers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from upkeep.dates import say_day
from upkeep.feed.describe import find_twins, say_summary
from upkeep.model import Fleet, Task, Vessel
from upkeep.publish.files import Order
from upkeep.records import LoadedFleet

_LATE_SHOWN, _NEXT_SHOWN = 3, 4


def index_row(fleet: Fleet, vessel: Vessel, tasks: Sequence[Task], order: Order) -> dict[str, Any]:
    """Say what the page shows of one vessel."""
    dated = [task for task in tasks if task.due is not None]
    late = [task for task in dated if task.standing == "late"]
    feed = f"feeds/{vessel.id}.ics" if dated else None
    webcal = None
    if feed and fleet.address:
        webcal = f"webcal://{fleet.address.removeprefix('https://')}/{feed}"
    ahead = [task for task in dated if task.standing != "late"]
    twins = find_twins(vessel)
    shown = [
        {
            "due": say_day(task.due) if task.due else "",
            "title": say_summary(task, twins),
            "standing": task.standing,
        }
        for task in (*late[:_LATE_SHOWN], *ahead[:_NEXT_SHOWN])
    ]
    return {
        "name": vessel.name,
        "type": vessel.type,
        "id": vessel.id,
        "next": shown,
        "feed": feed,
        "webcal": webcal,
        "handbook": f"handbooks/{vessel.id}.html",
        "pdf": f"handbooks/{vessel.id}.pdf" if order.pdf else None,
        "card": f"handbooks/{vessel.id}-card.pdf" if order.pdf else None,
        "late": len(late),
    }


def make_index(loaded: LoadedFleet, order: Order, rows: Iterable[Mapping[str, Any]]) -> bytes:
    """Make the page. rows: of index_row, each with what went wrong as its note."""
    from upkeep.render.html import render_index

    assert loaded.fleet is not None
    stopped = [{"vessel": v, "file": f} for v, f in sorted(loaded.stopped.items())]
    contact = loaded.fleet.contact
    return render_index(
        {
            "fleet": loaded.fleet.name,
            "language": loaded.fleet.language,
            "today": say_day(order.today),
            "contact": contact.name,
            "phone": contact.phone,
            "email": contact.email,
            "vessels": list(rows),
            "stopped": stopped,
        }
    )

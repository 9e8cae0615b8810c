"""Storage clock: how long a bank lasts while a boat lies, and the spells in which she does.

Model and sources: upkeep.physics.storage.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

from upkeep.clocks.boat_days import Winter
from upkeep.graph import Parasitic
from upkeep.model import Component, Left, Water
from upkeep.physics.storage import (
    CHEMISTRIES,
    Chemistry,
    find_month_losses,
    walk_to_floor,
)

READING_REACH_DAYS = 14  # a charge read so long before still counts (common practice, no source)


@dataclass(frozen=True, kw_only=True, slots=True)
class StorageSpell:
    """Days a boat lies unused, from first to before end (None runs on)."""

    first: date
    end: date | None
    isolated: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class BankState:
    """What a bank starts a spell with: charge 0-1 known on a day, and the draw [A]."""

    known_on: date
    charge: float
    measured: bool
    parasitic_a: float


def list_storage_spells(winters: Sequence[Winter], left: Sequence[Left]) -> list[StorageSpell]:
    """Join winters and spells left unused into storage spells, in order."""
    spells = [StorageSpell(first=w.lay_up, end=w.launch, isolated=False) for w in winters]
    spells += [
        StorageSpell(first=row.period.first, end=row.period.end, isolated=row.isolated)
        for row in left
    ]
    joined: list[StorageSpell] = []
    for spell in sorted(spells, key=lambda item: item.first):
        before = joined[-1] if joined else None
        if before is None or (before.end is not None and spell.first >= before.end):
            joined.append(spell)
            continue
        ends = (before.end, spell.end)
        end = None if None in ends else max(day for day in ends if day)
        joined[-1] = StorageSpell(
            first=before.first, end=end, isolated=before.isolated or spell.isolated
        )
    return joined


def find_chemistry(bank: Component) -> Chemistry:
    """Give the cell data of a bank: lithium, or a lead-acid bank's own chemistry."""
    chemistry = bank.values.get("chemistry", "lithium")
    return CHEMISTRIES[str(chemistry)]


def settle_state(
    *,
    bank: Component,
    readings: Sequence[tuple[date, float]],
    start: date,
    end: date | None,
    today: date,
    parasitic: Parasitic,
    isolated: bool,
) -> BankState:
    """Settle the charge a spell runs from and what goes on drawing.

    readings: (day, charge), rising. A charge read since 14 days before the start, and before
    the end and not after today, is taken; one read after the start counts from its own day.
    """
    earliest = start - timedelta(days=READING_REACH_DAYS)
    known = [
        (on, charge)
        for on, charge in readings
        if earliest <= on <= today and (end is None or on < end)
    ]
    draw = parasitic.isolated_a if isolated else parasitic.as_left_a
    if not known:
        charge = find_chemistry(bank).soc_start
        return BankState(known_on=start, charge=charge, measured=False, parasitic_a=draw)
    on, charge = known[-1]
    return BankState(known_on=max(on, start), charge=charge, measured=True, parasitic_a=draw)


def find_charge_due(
    *, bank: Component, state: BankState, floor: float, water: Water
) -> date | None:
    """Find the last day the charge is not below the floor; None when it never falls there."""
    capacity = bank.values["capacity_ah"]
    assert isinstance(capacity, int | float)
    losses = _month_losses(water.monthly_air_c or water.monthly_c, find_chemistry(bank))
    drain = 24 * state.parasitic_a / capacity
    return walk_to_floor(state.charge, floor, losses, drain, state.known_on)


@lru_cache(maxsize=1024)
def _month_losses(monthly_c: tuple[float, ...], chemistry: Chemistry) -> list[float]:
    return find_month_losses(monthly_c, chemistry.self_discharge_pct_per_30d, chemistry.reference_c)

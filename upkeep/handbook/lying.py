"""A bank that lies unused: from which day and charge, what draws, how far it may fall.

Model, rates and their sources: upkeep.physics.storage.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from upkeep.clocks.storage import BankState, find_chemistry
from upkeep.graph import sum_parasitic
from upkeep.handbook.material import Job, Material
from upkeep.model import Component, Reason, Vessel


@dataclass(frozen=True, kw_only=True, slots=True)
class Spell:
    """The spell she lies unused that the figures are for; launch None is not known."""

    start: date
    launch: date | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Lying:
    """A bank that lies unused: how it starts isolated and left on, and how far it may fall.

    job: its own storage task; None without one. reasons: that task's limits by clock.
    """

    bank: Component
    spell: Spell
    isolated: BankState
    left_on: BankState
    floor: float
    job: Job | None
    reasons: Mapping[str, Reason]


def find_spell(vessel: Vessel, as_of: date) -> Spell:
    """Find the first usual winter from a day on; without a season, from that day."""
    season = vessel.season
    if season is None or as_of.year > 9990:
        return Spell(start=as_of, launch=None)
    start = season.lay_up.in_year(as_of.year)
    if start < as_of:
        start = season.lay_up.in_year(as_of.year + 1)
    launch = season.launch.in_year(start.year)
    if launch <= start:
        launch = season.launch.in_year(start.year + 1)
    return Spell(start=start, launch=launch)


def settle_lying(bank: Component, spell: Spell, material: Material) -> Lying:
    """Settle how a bank starts a spell: the charge its chemistry is stored at, by rule."""
    charge = find_chemistry(bank).soc_start
    parasitic = sum_parasitic(material.circuits, bank)
    job = _find_job(bank, material)
    reasons = _list_reasons(job)
    return Lying(
        bank=bank,
        spell=spell,
        isolated=_make_state(spell.start, charge, parasitic.isolated_a),
        left_on=_make_state(spell.start, charge, parasitic.as_left_a),
        floor=_find_floor(bank, reasons),
        job=job,
        reasons=reasons,
    )


def _make_state(start: date, charge: float, draw_a: float) -> BankState:
    return BankState(known_on=start, charge=charge, measured=False, parasitic_a=draw_a)


def _find_job(bank: Component, material: Material) -> Job | None:
    jobs = (job for job in material.jobs if job.component.id == bank.id)
    return next((job for job in jobs if "charge_to" in _list_reasons(job)), None)


def _list_reasons(job: Job | None) -> dict[str, Reason]:
    if job is None or job.task is None:
        return {}
    return {reason.clock: reason for reason in job.task.reasons}


def _find_floor(bank: Component, reasons: Mapping[str, Reason]) -> float:
    reason = reasons.get("charge_to")
    limit = reason.limit if reason else None
    return float(limit) if isinstance(limit, int | float) else find_chemistry(bank).soc_floor

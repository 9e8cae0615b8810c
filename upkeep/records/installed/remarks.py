"""A remark on one vessel before its line is known, and the sources behind each check.

The rows named here stand in the catalogue's sources-installed.toml and its neighbours.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from upkeep.errors import KeyPath
from upkeep.model import Fleet, Vessel, Water

ASK = "; have it checked by a competent person"  # ends each message on safety: never a design
MOST_NAMES = 8  # listed in one message
VESSEL: KeyPath = ("vessel",)
SOURCES: Mapping[str, tuple[str, ...]] = {
    "protection": ("trade-overcurrent",),
    "protection-unknown": ("trade-overcurrent",),
    "no-protection": ("trade-overcurrent", "practice-starter-cable"),
    "voltage-drop": ("trade-wire-tables", "practice-safety-circuits"),
    "two-sources": ("practice-changeover",),
    "unfed": ("practice-record-gaps",),
    "charge-current": ("practice-charge-current",),
    "charge-acceptance": ("memory-charge-acceptance",),
    "stays-live": ("practice-stays-live",),
    "bilge-isolator": ("practice-bilge",),
    "no-residual-current-device": ("practice-residual-current",),
    "mains-unknown": ("practice-record-gaps",),
    "no-seacock": ("practice-seacock",),
    "strainer-after-pump": ("practice-strainer",),
    "no-air-bleed": ("trade-ac-bleed", "practice-raw-water"),
    "water-unknown": ("practice-record-gaps",),
    "anode-alloy": ("trade-anode-alloys",),
    "anode-mixed": ("practice-mixed-anodes",),
    "no-carbon-monoxide-alarm": ("scheme-carbon-monoxide-alarm", "practice-alarms-fitted"),
    "no-gas-alarm": ("practice-alarms-fitted", "trade-gas-escape"),
    "no-smoke-alarm": ("practice-alarms-fitted",),
    "alarm-unknown": ("practice-record-gaps",),
    "extinguisher-agent": ("practice-record-gaps",),
}


@dataclass(frozen=True, slots=True)
class Remark:
    """What looks wrong or is missing; path says where in the vessel's file.

    sources, where given, stand in place of those of its check.
    """

    path: KeyPath
    check: str
    message: str
    sources: tuple[str, ...] = ()


def list_names(names: Sequence[str], word: str = "and") -> str:
    """List names in a sentence, at most MOST_NAMES of them: "a, b and 3 more"."""
    shown = list(names[:MOST_NAMES])
    if len(names) > MOST_NAMES:
        shown.append(f"{len(names) - MOST_NAMES} more")
    return f" {word} ".join(filter(None, (", ".join(shown[:-1]), shown[-1])))


def find_water(vessel: Vessel, fleet: Fleet, today: date) -> Water:
    """Find the water a vessel lies in on a day."""
    name = vessel.water
    for berth, first in vessel.berths:
        if first <= today:
            name = berth
    return fleet.waters[name]

"""Alarms a boat should have for what she carries, and what is inside her extinguishers.

Carbon monoxide: an inland scheme's checks for boats with accommodation, as reported. The rest:
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from upkeep.model import Component, Vessel
from upkeep.records.installed.remarks import ASK, VESSEL, Remark, list_names

ALARM = "gas-alarm"
OUTBOARD = "outboard"  # in the open air; its fumes reach a cabin where people sleep
SEVERAL = "several"  # an alarm for several gases is taken to cover each


def remark_alarms(vessel: Vessel) -> Iterator[Remark]:
    """Remark on what may burn, leak or poison without an alarm, by role and area."""
    parts = vessel.components.values()
    alarms = [component for component in parts if component.kind.id == ALARM]
    unknown = [a for a in alarms if "detects" not in a.values or "detects" in a.assumed]
    if unknown:  # it may detect whatever is looked for
        names = list_names([alarm.id for alarm in unknown])
        message = f"not checked, which gases she is watched for: record detects of {names}"
        yield Remark(unknown[0].path, "alarm-unknown", message)
    else:
        watched = {alarm.values["detects"] for alarm in alarms}
        if not watched & {"carbon-monoxide", SEVERAL}:
            yield from _remark_burners(vessel)
        if not watched & {"lpg", SEVERAL}:
            yield from _remark_bottled_gas(vessel)
    if vessel.sleeping and not any(c.kind.id == "smoke-alarm" for c in parts):
        message = f"{vessel.id}: people sleep aboard, and no smoke alarm is recorded{ASK}"
        yield Remark((*VESSEL, "sleeping"), "no-smoke-alarm", message)
    yield from _remark_agents(vessel)


def _remark_burners(vessel: Vessel) -> Iterator[Remark]:
    burners = [
        c
        for c in vessel.components.values()
        if c.has_role("burns-fuel") or (c.kind.id == OUTBOARD and vessel.sleeping)
    ]
    if burners:
        yield _tell_missing(burners, "no-carbon-monoxide-alarm", "carbon monoxide can gather in "
                            "her", "detects carbon-monoxide")  # fmt: skip


def _remark_bottled_gas(vessel: Vessel) -> Iterator[Remark]:
    parts = (c for c in vessel.components.values() if c.kind.id != ALARM)
    bottled = [c for c in parts if c.kind.area == "gas" or c.values.get("fuel") == "gas"]
    if bottled:
        yield _tell_missing(bottled, "no-gas-alarm", "gas can collect low in her", "detects lpg")


def _tell_missing(parts: list[Component], check: str, hazard: str, alarm: str) -> Remark:
    names = list_names([component.id for component in parts])
    message = f"{names}: {hazard}, and no gas-alarm that {alarm} is recorded{ASK}"
    return Remark(parts[0].path, check, message)


def _remark_agents(vessel: Vessel) -> Iterator[Remark]:
    """Name the extinguishers of which nobody wrote what is inside."""
    unknown = [
        component
        for component in vessel.components.values()
        if component.kind.id == "fire-extinguisher"
        and ("agent" not in component.values or "agent" in component.assumed)
    ]
    if unknown:
        names = list_names([component.id for component in unknown])
        message = f"what is inside {names} is not recorded: read the label and write agent"
        yield Remark(unknown[0].path, "extinguisher-agent", message)

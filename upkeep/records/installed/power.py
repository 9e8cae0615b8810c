"""Banks, mains and isolators: what feeds what, what is cut off, what charges too hard.

Definitions ours, on the record's own words. Acceptance of lead-acid: upkeep.physics.recharge.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from upkeep.graph import Circuits, build_circuits, find_consumers
from upkeep.handbook.paths import find_chargers
from upkeep.model import Component, Draw, Supply, Vessel
from upkeep.physics.storage import CHEMISTRIES
from upkeep.records.installed.cables import find_output
from upkeep.records.installed.remarks import ASK, Remark, list_names
from upkeep.records.installed.upstream import MAINS, find_origins, list_devices

RESIDUAL = "residual-current-device"
MAIN_SWITCH = "battery-isolator"


def remark_power(vessel: Vessel) -> Iterator[Remark]:
    """Remark on the circuits of a vessel as a whole."""
    circuits = build_circuits(vessel)
    yield from _remark_unfed(vessel)
    yield from _remark_stays_live(vessel, circuits)
    for component in vessel.components.values():
        yield from _remark_two_sources(vessel, component)
        if component.has_role("bank"):
            yield from _remark_charging(circuits, component)
        if component.kind.id == "bilge-pump":
            yield from _remark_bilge_pump(vessel, component)
        if component.kind.id == "shore-inlet":
            yield from _remark_inlet(vessel, circuits, component)


def _remark_unfed(vessel: Vessel) -> Iterator[Remark]:
    unfed = [
        component
        for component in vessel.components.values()
        if component.has_role("consumes") and not component.supplies
        if isinstance(draw := component.values.get("draw_a"), Draw) and draw.full > 0
    ]
    if unfed:
        names = list_names([component.id for component in unfed])
        message = f"nothing is recorded that feeds {names}: write fed_by"
        yield Remark(unfed[0].path, "unfed", message)


def _remark_stays_live(vessel: Vessel, circuits: Circuits) -> Iterator[Remark]:
    """Name what a bank feeds past every isolating device, or what is meant to stay on."""
    live = {
        consumer.component.id
        for bank in vessel.components.values()
        if bank.has_role("bank")
        for consumer in find_consumers(circuits, bank.id)
        if consumer.component.has_role("consumes")
        if not consumer.cut or consumer.component.stays_live
    }
    found = [component for component in vessel.components.values() if component.id in live]
    if found:
        names = list_names([component.id for component in found])
        message = f"stays live with every breaker and isolator open: {names}"
        yield Remark(found[0].path, "stays-live", message)


def _remark_two_sources(vessel: Vessel, component: Component) -> Iterator[Remark]:
    """Compare each two rows that lead to different sources of mains.

    Judged is whether one device recorded as a changeover stands on every way of both. One that
    takes both rows itself stands on both ways.
    """
    if component.has_role("bank"):
        return
    for (_, first), (index, second) in combinations(enumerate(component.supplies), 2):
        names = [_list_mains(vessel, component, supply) for supply in (first, second)]
        other = [name for name in names[1] if name not in names[0]]
        if names[0] and other and not _share_switch(vessel, component, first, second):
            message = (
                f"{component.id}: fed by {list_names(names[0])} and by {list_names(other)}, and no "
                f"changeover is recorded on both paths to keep them apart{ASK}"
            )
            yield Remark((*component.path, "fed_by", index), "two-sources", message)


def _list_mains(vessel: Vessel, component: Component, supply: Supply) -> list[str]:
    origins = find_origins(vessel.components, component, supply)
    return [origin.id for origin in origins if origin.kind.id in MAINS]


def _share_switch(vessel: Vessel, component: Component, first: Supply, second: Supply) -> bool:
    def cuts(name: str) -> bool:
        return not any(
            find_origins(vessel.components, component, supply, lambda device: device.id == name)
            for supply in (first, second)
        )

    devices = list_devices(vessel.components, component, first)
    return any(cuts(device.id) for device in devices if device.values.get("changeover") is True)


def _remark_charging(circuits: Circuits, bank: Component) -> Iterator[Remark]:
    """Compare each charger by itself with what the bank takes, where that is known.

    Without the maker's figure: lead-acid's acceptance when empty, from memory, and not for an
    alternator, which its regulator holds back (common practice, no source).
    """
    most_a = bank.values.get("charge_max_a")
    for charger in find_chargers(circuits, bank):
        output_a = find_output(charger)
        if output_a is None:
            continue
        said = f"{bank.id}: {charger.id} gives up to {output_a:g} A"
        if isinstance(most_a, int | float):
            if output_a > most_a:
                message = f"{said}, and it may take {most_a:g} A (charge_max_a){ASK}"
                yield Remark(bank.path, "charge-current", message)
        elif charger.kind.id != "alternator":
            taken_a = _find_acceptance(bank)
            if taken_a is not None and output_a > taken_a:
                message = (
                    f"{said}, and a bank of its sort and size takes about {taken_a:.0f} A when "
                    f"empty (from memory: record the maker's figure, charge_max_a){ASK}"
                )
                yield Remark(bank.path, "charge-acceptance", message)


def _find_acceptance(bank: Component) -> float | None:
    """Say what an empty lead-acid bank takes [A]: acceptance times capacity; else None."""
    chemistry, capacity_ah = bank.values.get("chemistry"), bank.values.get("capacity_ah")
    found = CHEMISTRIES.get(chemistry) if isinstance(chemistry, str) else None
    if found is None or found.acceptance_per_h is None or not isinstance(capacity_ah, int | float):
        return None
    return found.acceptance_per_h * capacity_ah


def _remark_bilge_pump(vessel: Vessel, pump: Component) -> Iterator[Remark]:
    """Tell when a battery isolator stands on every way from a bank."""
    fed, uncut = False, False
    switches: dict[str, None] = {}
    for supply in pump.supplies:
        fed |= _reaches_bank(find_origins(vessel.components, pump, supply))
        uncut |= _reaches_bank(find_origins(vessel.components, pump, supply, _is_main_switch))
        devices = list_devices(vessel.components, pump, supply)
        switches.update(dict.fromkeys(item.id for item in devices if _is_main_switch(item)))
    if fed and not uncut:
        message = f"{pump.id}: {list_names(list(switches))} cuts it off, and then nothing pumps"
        yield Remark((*pump.path, "fed_by", 0), "bilge-isolator", message + ASK)


def _reaches_bank(origins: tuple[Component, ...]) -> bool:
    return any(origin.has_role("bank") for origin in origins)


def _is_main_switch(device: Component) -> bool:
    return device.kind.id == MAIN_SWITCH


def _remark_inlet(vessel: Vessel, circuits: Circuits, inlet: Component) -> Iterator[Remark]:
    """Name what shore power reaches past every residual current device.

    Up to a charger, a bank or an inverter: what that gives on is a circuit of its own.
    """
    if inlet.id not in circuits.fed:
        message = f"{inlet.id}: not checked, nothing is recorded as fed by it (fed_by)"
        yield Remark(inlet.path, "mains-unknown", message)
        return
    bare = [
        component.id
        for component in vessel.components.values()
        if component.has_role("consumes") or component.id not in circuits.fed
        if any(
            inlet in find_origins(vessel.components, component, supply, _is_residual)
            for supply in component.supplies
        )
    ]
    if bare:
        message = f"no residual current device is recorded between {inlet.id} and "
        yield Remark(inlet.path, "no-residual-current-device", message + list_names(bare) + ASK)


def _is_residual(device: Component) -> bool:
    return device.kind.id == RESIDUAL

"""A boat that is recorded well and installed well, for tests to make one thing of her wrong."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

from upkeep.catalogue import load_builtin
from upkeep.errors import Warning
from upkeep.records import load_fleet
from upkeep.records.installed import find_warnings

TODAY = date(2026, 7, 1)
SOUND = """
[vessel]
id = "tern"
name = "Tern"
type = "launch"
length_m = 9
water = "bay"
flag = "gb"
use = "private"
sleeping = true
handed_over = 2026-01-02
"""
PARTS = {
    "bank": ("lithium-bank", "capacity_ah = 200\ncharge_max_a = 100\nfed_by = "
             "[{ from = 'charger', through = ['charger-fuse'], ampacity_a = 50 }]"),
    "bank-fuse": ("fuse", "rating_a = 100"),
    "charger-fuse": ("fuse", "rating_a = 40"),
    "switch": ("battery-isolator", ""),
    "lights-breaker": ("breaker", "rating_a = 10"),
    "lights": ("load", "draw_a = 5\nfed_by = [{ from = 'bank', through = ['bank-fuse', 'switch', "
               "'lights-breaker'], ampacity_a = 21, cable_mm2 = 2.5, cable_m = 5 }]"),
    "pump-fuse": ("fuse", "rating_a = 7.5"),
    "pump": ("bilge-pump", "draw_a = 5\nstays_live = true\nfed_by = [{ from = 'bank', through = "
             "['pump-fuse'], ampacity_a = 21, cable_mm2 = 2.5, cable_m = 5 }]"),
    "engine": ("diesel-engine", "cooling = 'heat-exchanger'\nwater_from = ['engine-strainer']"),
    "starter": ("load", "starts_engine = true\nfed_by = [{ from = 'bank', through = ['switch'], "
                "ampacity_a = 300 }]"),
    "shore": ("shore-inlet", "rating_a = 16"),
    "main": ("main-breaker", "rating_a = 16"),
    "residual": ("residual-current-device", "trip_ma = 30"),
    "charger": ("battery-charger", "output_a = 30\ndraw_a = 3\nfed_by = [{ from = 'shore', "
                "through = ['main', 'residual'], ampacity_a = 20 }]"),
    "seacock": ("seacock", ""),
    "engine-strainer": ("sea-strainer", "water_from = ['seacock']"),
    "strainer": ("sea-strainer", "water_from = ['seacock']"),
    "sea-pump": ("raw-water-pump", "water_from = ['strainer']"),
    "bleed": ("air-bleed", "water_from = ['sea-pump']"),
    "unit": ("climate-unit", "water_from = ['bleed']"),
    "panel": ("climate-panel", "fed_by = [{ from = 'unit' }]"),
    "outlet": ("overboard-outlet", "water_from = ['unit']"),
    "hull-zinc": ("hull-anode", "alloy = 'zinc'"),
    "shaft-zinc": ("shaft-anode", "alloy = 'zinc'"),
    "smoke": ("smoke-alarm", "made = '2025-06'"),
    "carbon": ("gas-alarm", "detects = 'carbon-monoxide'"),
    "extinguisher": ("fire-extinguisher", "agent = 'foam'\nmade = '2025'"),
    "flares": ("flares", "expires = '2028-06'"),
}  # fmt: skip
# Kinds the built-in catalogue may not have yet, and some of the fleet's own.
STAND_INS = {
    "gas-alarm": """
title = "gas alarm"
area = "fire and life"
roles = ["consumes"]

[[kind.gas-alarm.fields]]
key = "detects"
type = "choice"
text = "which gas"
choices = ["carbon-monoxide", "lpg", "petrol", "several"]
""",
    "spirit-stove": 'title = "spirit stove"\narea = "cabin"\nroles = ["burns-fuel"]\n',
    "gas-bottle": 'title = "gas bottle"\narea = "gas"\n',
    "galley-socket": 'title = "galley socket"\narea = "power"\n',
}


def write_kinds() -> str:
    """Write the fleet's catalogue: the stand-ins the built-in one does not have."""
    known = load_builtin().kinds
    missing = {name: text for name, text in STAND_INS.items() if name not in known}
    return "\n".join(f"[kind.{name}]\n{text}" for name, text in missing.items())


def sound_boat(
    *,
    but: dict[str, tuple[str, str]] | None = None,
    without: tuple[str, ...] = (),
    more: str = "",
) -> str:
    """Write her, some parts otherwise (kind and fields) or left out, with more TOML at the end."""
    text = SOUND
    for name, (kind, fields) in {**PARTS, **(but or {})}.items():
        if name not in without:
            text += (
                f'\n[[component]]\nid = "{name}"\nkind = "{kind}"\nlocation = "aft"\n'
                f'marked = "{name.upper()}"\ninstalled = 2026-01-01\n{fields}\n'
            )
    return text + more


def look(
    folder: Callable[..., Path], boat: str, *, today: date = TODAY, fleet: str | None = None
) -> list[Warning]:
    """List what is said of one boat as installed: all but what would complete her handbook."""
    files = {"vessels__tern": boat, "catalogue__own": write_kinds()}
    if fleet is not None:
        files["fleet.toml"] = fleet
    loaded = load_fleet(folder(**files))
    assert not loaded.problems, [str(problem) for problem in loaded.problems]
    found = find_warnings(loaded, today)
    known = loaded.catalogue.sources
    assert all(name in known for warning in found for name in warning.sources)
    said = [warning for warning in found if warning.check != "handbook"]
    assert all(warning.vessel == "tern" and warning.file == "vessels/tern.toml" for warning in said)
    return said


def new_remarks(folder: Callable[..., Path], boat: str, **more: date) -> list[tuple[str, str]]:
    """List (check, message) of all but what stays live, which is so on the sound boat too."""
    said = look(folder, boat, **more)  # type: ignore[arg-type]
    return [(w.check, w.message) for w in said if w.check != "stays-live"]


def line_of(boat: str, words: str) -> int:
    """Find the line of words that stand once in a boat's file."""
    (line,) = (n for n, text in enumerate(boat.split("\n"), 1) if words in text)
    return line

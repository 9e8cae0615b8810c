"""Makes fleets of any size for measuring: vessels with about 20 or about 60 tasks."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

FLEET = """[fleet]
id = "measured"
name = "Measured fleet"
address = "https://boats.example.org"
contact = { name = "Yard", phone = "+00 000", email = "yard@example.org" }

[water.basin]
name = "basin"
class = "marina"
salinity = "sea"
monthly_c = [6, 6, 7, 9, 13, 16, 18, 19, 17, 14, 10, 8]
monthly_air_c = [4, 4, 6, 9, 13, 16, 18, 18, 15, 12, 8, 5]

[[part]]
id = "shaft-zinc"
lead_days = 10
"""
PREFIX = "cabin"
FIT_OUT = [
    ("strainer", "sea-strainer", 'location = "beside the seacock"\nwater_from = ["@sea"]'),
    ("pump", "raw-water-pump", 'location = "below the strainer"\nwater_from = ["strainer"]\n'
     'draw_a = 3\nfed_by = [{ from = "@supply", through = ["@main", "breaker"], ampacity_a = 70,'
     " cable_mm2 = 10, cable_m = 2.5 }]"),
    ("unit", "climate-unit", 'location = "locker under the berth"\nwater_from = ["pump"]\n'
     "draw_a = { low = 8, usual = 16, full = 34 }\nstandby_a = 0.1\ncooling_w = 2300\n"
     'rise_k = 5\nfed_by = [{ from = "@supply", through = ["@main", "breaker"] }]'),
    ("breaker", "breaker", 'location = "switch panel, lower row"\nrating_a = 60'),
]  # fmt: skip
NEEDS = (
    'title = "Cabin climate"\n'
    'needs = { supply = "any bank", main = "any protection", sea = "seacock" }\n'
)
BIND = {"supply": "bank", "main": "bank-fuse", "sea": "seacock"}
SMALL = [
    ("panel", "climate-panel", 'location = "saloon, by the steps"'),
    ("outlet", "overboard-outlet", 'location = "topsides, port"'),
    ("seacock", "seacock", 'location = "galley, under the sink"'),
    ("bank", "lithium-bank", 'location = "under the seat"\ncapacity_ah = 300'),
    ("bank-fuse", "fuse", 'location = "on the bank"\nrating_a = 125'),
]
LARGE = [
    ("charger", "battery-charger", 'location = "under the seat"\noutput_a = 30'),
    ("start", "lead-acid-bank", 'location = "engine room"\ncapacity_ah = 90\nchemistry = "agm"'),
    ("engine", "diesel-engine", 'location = "engine room"\nhours_per_year = 80'),
    ("alternator", "alternator", 'location = "engine, front"\noutput_a = 60\ndriven_by = "engine"'),
    ("filter", "fuel-filter", 'location = "engine room, port"\ndriven_by = "engine"'),
    ("shore", "shore-inlet", 'location = "cockpit, port"\nrating_a = 16'),
    ("main", "main-breaker", 'location = "cockpit locker"\nrating_a = 16'),
    ("rcd", "residual-current-device", 'location = "cockpit locker"\ntrip_ma = 30'),
    ("zinc", "shaft-anode", 'location = "on the shaft"\nalloy = "zinc"\nmass_g = 280'),
    ("hull-zinc", "hull-anode", 'location = "under the counter"\nalloy = "zinc"\nmass_g = 900'),
    ("extinguisher", "fire-extinguisher", 'location = "by the steps"\nmade = "2023-03"'),
    ("flares", "flares", 'location = "cockpit locker"\nexpires = "2028-05"'),
    ("smoke", "smoke-alarm", 'location = "saloon"\nmade = "2024-01"'),
    ("bilge", "bilge-pump", 'location = "bilge"\ndraw_a = 4'),
    ("isolator", "battery-isolator", 'location = "by the steps"'),
]  # fmt: skip


def write_fleet(folder: Path, count: int, *, large: bool) -> None:
    """Write a fleet of a number of vessels, each with her own dates."""
    (folder / "vessels").mkdir(parents=True)
    (folder / "fit-outs").mkdir()
    (folder / "fleet.toml").write_text(FLEET)
    parts = [_component(name, kind, text) for name, kind, text in FIT_OUT]
    (folder / "fit-outs" / "cabin-climate.toml").write_text(NEEDS + "".join(parts))
    for index in range(count):
        text = _vessel(index, large=large) + _use(index)
        (folder / "vessels" / f"{_name(index)}.toml").write_text(text)


def written_out(count: int, *, large: bool) -> Mapping[str, str]:
    """Give the same vessels with their fit-out's components written out."""
    return {_name(index): _vessel(index, large=large) + _expanded(index) for index in range(count)}


def _name(index: int) -> str:
    return f"boat-{index:05}"


def _day(index: int) -> str:
    return f"20{20 + index % 6}-{1 + index % 12:02}-{1 + index % 28:02}"


def _component(name: str, kind: str, text: str) -> str:
    """Write a component as fully as the demo fleet's are: made by whom, printed words, a note."""
    made = (
        f'name = "{name.replace("-", " ")}"\nmaker = "Holm & Daughters"\n'
        f'model = "{kind.upper()[:6]}-{len(text)}"\nserial = "HD-{len(name)}{len(text)}-0417"\n'
        f'marked = "{name.upper()}"\nnotes = "Fitted with new clamps; papers in the chart table."\n'
    )
    return f'\n[[component]]\nid = "{name}"\nkind = "{kind}"\n{made}{text}\n'


def _vessel(index: int, *, large: bool) -> str:
    rows = SMALL + (LARGE if large else [])
    installed = f"installed = {_day(index)}"
    parts = "".join(_component(name, kind, f"{text}\n{installed}") for name, kind, text in rows)
    done = (
        f'\n[[last_done]]\ntask = "cabin-strainer/clean-basket"\non = 2026-{1 + index % 9:02}-15\n'
        "wear = 0.4\n"
    )
    return (
        f'[vessel]\nid = "{_name(index)}"\nname = "Boat {index}"\ntype = "motor launch"\n'
        f'length_m = {8 + index % 7}.5\nwater = "basin"\nflag = "gb"\nuse = "private"\n'
        f'berth = "B {index}"\nhanded_over = {_day(index)}\n\n[season]\n'
        f'launch = "04-{1 + index % 20:02}"\nlay_up = "10-{1 + index % 28:02}"\n{parts}{done}'
    )


def _use(index: int) -> str:
    bind = ", ".join(f'{need} = "{name}"' for need, name in BIND.items())
    return (
        f'\n[[fit_out]]\nname = "cabin-climate"\nprefix = "{PREFIX}"\n'
        f"installed = {_day(index)}\nbind = {{ {bind} }}\n"
    )


def _expanded(index: int) -> str:
    text = "".join(
        _component(f"{PREFIX}-{name}", kind, f"{body}\ninstalled = {_day(index)}")
        for name, kind, body in FIT_OUT
    )
    for need, name in BIND.items():
        text = text.replace(f'"@{need}"', f'"{name}"')
    for name, _, _ in FIT_OUT:
        text = text.replace(f'["{name}"]', f'["{PREFIX}-{name}"]')
        text = text.replace(f', "{name}"]', f', "{PREFIX}-{name}"]')
    return text

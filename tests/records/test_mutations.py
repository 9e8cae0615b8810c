"""A right fleet, spoilt at random: reading it never fails, and each problem has its place."""

from __future__ import annotations

import tempfile
import tomllib
from collections.abc import Callable, Iterator
from copy import deepcopy
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from upkeep.due import find_tasks
from upkeep.records import load_fleet
from upkeep.records.installed import find_warnings

from .boats import FIT_OUT, OWN_KIND, boat, component
from .toml_text import write_document

TODAY = date(2026, 7, 1)
FLEET = """
[fleet]
id = "test"
name = "Test fleet"
contact = { name = "Yard", phone = "1", email = "yard@example.org" }

[water.bay]
name = "the bay"
class = "marina"
salinity = "sea"
monthly_c = [8, 7, 8, 10, 13, 16, 18, 19, 17, 14, 11, 9]
monthly_air_c = [8, 7, 8, 10, 13, 16, 18, 19, 17, 14, 11, 9]
jurisdiction = "gb"

[service]
yard = ["competent"]
also = ["one/heat-strainer/clean-basket"]

[[crew]]
id = "ines"
name = "Ines"
skills = ["electrical"]
licences = [{ scheme = "gas", number = "G-1", until = 2028-05-01 }]
hours = { mon = 7 }
away = [{ from = 2026-12-21, to = 2027-01-04 }]

[[lift]]
water = "bay"
weekdays = ["tue"]
per_day = 2
closed = [{ from = 2026-12-15, to = 2027-02-01 }]

[travel]
between = [{ from = "bay", to = "bay", minutes = 20 }]

[[part]]
id = "zinc-30"
"""
MORE_BOAT = (
    component("bank", "lithium-bank", "capacity_ah = 200\nfed_by = [{ from = 'charger' }]")
    + component("charger", "battery-charger", "output_a = 30")
    + component("kettle", "load", "draw_a = { low = 1, usual = 2, full = 3 }\nstandby_a = 0.1")
    + component("engine", "diesel-engine", "hours_per_year = 90")
    + component("generator", "alternator", "driven_by = 'engine'\noutput_a = 40")
    + component("zinc", "shaft-anode", "alloy = 'zinc'\nmass_g = 300\nparts = { a = 'zinc-30' }")
    + component("flares", "flares", "expires = '2028-06'")
    + component("deck", "cork-deck", "laid = 2020-05-01")
    + """
[season]
launch = "04-01"
lay_up = "11-01"

[owner]
name = "Owner"

[[ashore]]
from = 2026-02-01
to = 2026-03-01

[[left]]
from = 2026-05-01
to = 2026-06-01
isolated = true

[[berth]]
water = "bay"
from = 2026-05-01

[[fit_out]]
name = "heating"
prefix = "heat"
installed = 2026-01-01
bind = { sea = "seacock", supply = "bank" }
set = { unit = { cooling_w = 2000, fed_by = [{ from = "@supply", cable_m = 2 }] } }

[[last_done]]
task = "heat-strainer/clean-basket"
on = 2026-05-02
wear = 0.5

[[limit]]
task = "engine/change-oil"
run_hours = 100
months = 12
source = "the maker's book"

[[reading]]
component = "engine"
name = "engine_h"
on = 2026-05-01
value = 120

[[reading]]
component = "bank"
name = "charge"
on = 2026-05-01
value = 0.8
commissioning = true

[[edition]]
number = 1
on = 2026-05-01
by = "Ines"
"""
)
RIGHT = {
    "fleet.toml": tomllib.loads(FLEET),
    "vessels/one.toml": tomllib.loads(boat("one", MORE_BOAT)),
    "vessels/two.toml": tomllib.loads(boat("two")),
    "fit-outs/heating.toml": tomllib.loads(FIT_OUT),
    "catalogue/own.toml": tomllib.loads(OWN_KIND),
}
Place = tuple[dict[str, Any] | list[Any], Any]


def list_places(data: object) -> Iterator[Place]:
    """List every (container, key or index) inside a document."""
    pairs: Any = ()
    if isinstance(data, dict):
        pairs = list(data.items())
    elif isinstance(data, list):
        pairs = list(enumerate(data))
    for key, value in pairs:
        yield data, key  # type: ignore[misc]
        yield from list_places(value)


TEXTS = st.one_of(
    st.text(max_size=20),
    st.sampled_from(
        ["bay", "seacock", "engine", "@sea", "one", "gb", "2026", "2026-13", "02-30", "x/y", "a-b",
         "any bank", "DANGER", "LAW", "\u202e", "\x00", "x" * 300, "-", "climate-unit",
         "lithium-bank", "bank", "number", "stamp", "made", "charge_to", "heating", "months"]
    ),
)  # fmt: skip
SINGLE = st.one_of(
    TEXTS,
    st.integers(),
    st.sampled_from([0, -1, 10**400, 2**63, 99999]),
    st.floats(),
    st.booleans(),
    st.dates(),
    st.datetimes(timezones=st.sampled_from([None, UTC])),
    st.just(time(12)),
    st.just(datetime(2026, 1, 1, tzinfo=UTC)),
)
KEYS = st.one_of(
    st.sampled_from(sorted({str(key) for _, key in list_places(list(RIGHT.values()))})), TEXTS
)
VALUES = st.recursive(
    SINGLE,
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(KEYS, inner, max_size=3)),
    max_leaves=6,
)


def _drop(container: Any, key: Any, draw: Callable[..., Any], fleet: Any) -> None:
    del container[key]


def _replace(container: Any, key: Any, draw: Callable[..., Any], fleet: Any) -> None:
    container[key] = draw(VALUES)


def _exchange(container: Any, key: Any, draw: Callable[..., Any], fleet: Any) -> None:
    other, place = draw(st.sampled_from(list(list_places(fleet))))
    container[key] = deepcopy(other[place])


def _double(container: Any, key: Any, draw: Callable[..., Any], fleet: Any) -> None:
    copy = deepcopy(container[key])
    if isinstance(container, list):
        container.append(copy)
    else:
        container[draw(KEYS)] = copy


def _rename(container: Any, key: Any, draw: Callable[..., Any], fleet: Any) -> None:
    if isinstance(container, dict):
        container[draw(KEYS)] = container.pop(key)
    else:
        container.reverse()


CHANGES = (_drop, _replace, _exchange, _double, _rename)


@st.composite
def spoilt_fleets(draw: Callable[..., Any]) -> dict[str, str]:
    """Write the right fleet with one to five changes."""
    fleet = deepcopy(RIGHT)
    for _ in range(draw(st.integers(1, 5))):
        document = fleet[draw(st.sampled_from(sorted(fleet)))]
        places = list(list_places(document))
        if places:
            container, key = draw(st.sampled_from(places))
            draw(st.sampled_from(CHANGES))(container, key, draw, list(fleet.values()))
    return {name: write_document(document) for name, document in fleet.items()}


def _write(folder: Path, files: dict[str, str]) -> None:
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, "utf-8", newline="\n")


def test_the_fleet_is_right_before_it_is_spoilt(tmp_path: Path) -> None:
    _write(tmp_path, {name: write_document(document) for name, document in RIGHT.items()})
    loaded = load_fleet(tmp_path)
    assert not loaded.problems
    assert [vessel.id for vessel in loaded.vessels] == ["one", "two"]


@pytest.mark.slow
@settings(
    max_examples=400,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(files=spoilt_fleets())
def test_no_change_makes_reading_fail(files: dict[str, str]) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        _write(folder, files)
        loaded = load_fleet(folder)
        lines = {file: text.count("\n") for file, text in files.items()}
        for problem in loaded.problems:
            assert 1 <= problem.line <= max(1, lines[problem.file]), problem
            assert problem.message.strip(), problem
            assert problem.fix.strip(), problem
            assert str(problem).isprintable(), problem
        read = {vessel.id for vessel in loaded.vessels}
        assert read | set(loaded.stopped) == {"one", "two"}
        assert not read & set(loaded.stopped)
        if read != {"one", "two"}:
            assert loaded.problems
        find_warnings(loaded, TODAY)
        for vessel in loaded.vessels:
            assert loaded.fleet is not None
            find_tasks(vessel, loaded.fleet, TODAY)

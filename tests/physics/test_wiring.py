"""Wiring: against pint and the printed gauge table, and the fuse rule case by case."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from upkeep.physics import wiring

UNITS = pint.UnitRegistry()


def test_metric_constant_is_the_us_one():
    """ABYC E-11's 10.75 ohm circular mils per foot, converted by pint."""
    us = UNITS.Quantity(10.75, "ohm*circular_mil/foot")
    assert pytest.approx(us.to("ohm*mm^2/m").magnitude, rel=2e-5) == wiring.OHM_MM2_PER_M


@given(st.floats(0.5, 200), st.floats(1, 30), st.floats(0.1, 3))
def test_copper_needed_drops_just_the_voltage_asked(current, length_m, drop):
    """The US sizing and the metric drop, joined by pint."""
    needed = wiring.estimate_circular_mils(
        current_a=current, round_trip_ft=length_m / 0.3048, drop_v=drop
    )
    area = UNITS.Quantity(needed, "circular_mil").to("mm^2").magnitude
    found = wiring.estimate_voltage_drop(current_a=current, round_trip_m=length_m, area_mm2=area)
    assert found == pytest.approx(drop, rel=2e-5)


# Circular mils of American wire gauges as electrical codes print them (MEMORY).
@pytest.mark.parametrize(
    ("gauge", "cmil"),
    [
        ("18", 1620),
        ("16", 2580),
        ("14", 4110),
        ("12", 6530),
        ("10", 10_380),
        ("8", 16_510),
        ("6", 26_240),
        ("4", 41_740),
        ("2", 66_360),
        ("1", 83_690),
        ("1/0", 105_600),
        ("2/0", 133_100),
        ("3/0", 167_800),
        ("4/0", 211_600),
    ],
)
def test_gauge_holds_the_printed_area_and_not_more(gauge, cmil):
    """The formula rounds to the printed table within three parts in a thousand."""
    assert wiring.find_gauge(needed_cmil=cmil * 0.997) == gauge
    if gauge != "4/0":
        assert wiring.find_gauge(needed_cmil=cmil * 1.005) != gauge


def test_wire_of_the_worked_example_is_number_twelve():
    """ABYC E-11's style, as printed by two chandlers: 10 A, 21 ft, 3 % of 12 V."""
    needed = wiring.estimate_circular_mils(
        current_a=10, round_trip_ft=21, drop_v=12 * wiring.SAFETY_DROP
    )
    assert round(needed) == 6271
    assert wiring.find_gauge(needed_cmil=needed) == "12"


# ABYC E-11, by a retailer's account of its overcurrent protection.
@pytest.mark.parametrize(
    ("load", "ampacity", "fuse", "verdict"),
    [
        (50, 50, 50, "ok"),
        (50.1, 50, 60, "wire too small"),
        (20, 22, 15, "fuse too small"),
        (20, 22, 25, "next size up"),
        (20, 25, 30, "fuse too large"),
        (3, 3.2, 5, "fuse too large"),
        (100, 155, 150, "ok"),
        (100, 155, 200, "fuse too large"),
    ],
)
def test_fuse_is_judged_against_load_and_wire(load, ampacity, fuse, verdict):
    """The next size is allowed only above an odd ampacity and up to one and a half of it."""
    found = wiring.judge_fuse(
        load_a=load,
        ampacity_a=ampacity,
        fuse_a=fuse,
        standard_sizes_a=wiring.STANDARD_SIZES_A,
    )
    assert found == verdict

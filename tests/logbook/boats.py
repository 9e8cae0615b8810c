"""A small fleet to record work on."""

from __future__ import annotations

from tests.records.boats import component

SKUA = """
[vessel]
id = "skua"
name = "Skua"
type = "launch"
length_m = 9
water = "bay"
flag = "gb"
use = "private"

[[reading]]
component = "engine"
name = "engine_h"
on = 2026-02-01
value = 100
""" + "".join(
    [
        component("seacock", "seacock"),
        component("strainer", "sea-strainer"),
        component("engine", "diesel-engine", "hours_per_year = 80"),
        component("bank", "lithium-bank", "capacity_ah = 100"),
        component("unit", "climate-unit", "draw_a = 10\ncooling_w = 2000\nrise_k = 5"),
        component("flares", "flares", 'expires = "2028-05"'),
    ]
)
TERN = SKUA.replace("skua", "tern").replace("Skua", "Tern")
SPOILT = TERN.replace('"tern"', '"spoilt"').replace("length_m = 9", "length_m = 9000")

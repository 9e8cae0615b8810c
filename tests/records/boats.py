"""Small files of a right fleet, for tests to spoil."""

from __future__ import annotations

BOAT = """
[vessel]
id = "{id}"
name = "Boat {id}"
type = "launch"
length_m = 9
water = "bay"
flag = "gb"
use = "private"

[[component]]
id = "seacock"
kind = "seacock"
location = "galley"
installed = 2026-01-01
"""


def boat(name: str = "one", more: str = "") -> str:
    """Give the file of a right vessel, with more TOML at its end."""
    return BOAT.replace("{id}", name) + more


def component(name: str, kind: str, more: str = "") -> str:
    """Give one [[component]] of a vessel's file."""
    return (
        f'\n[[component]]\nid = "{name}"\nkind = "{kind}"\nlocation = "aft"\n'
        f"installed = 2026-01-01\n{more}\n"
    )


FIT_OUT = """
title = "Heating"
needs = { sea = "seacock", supply = "any bank" }

[[component]]
id = "strainer"
kind = "sea-strainer"
location = "bilge"
water_from = ["@sea"]

[[component]]
id = "unit"
kind = "climate-unit"
location = "locker"
water_from = ["strainer"]
fed_by = [{ from = "@supply" }]
"""

OWN_KIND = """
[source.habit]
title = "The yard's own habit"
authority = "NONE"
mark = "PRACTICE"

[kind.cork-deck]
title = "cork deck"
fields = [{ key = "laid", type = "stamp", text = "when it was laid" }]

[kind.cork-deck.rule.look-over]
title = "Look over the deck"
purpose = "inspect"
limits = { months = 6 }
hand = "owner"
minutes = 10
steps = "1. Look."
sources = ["habit"]
"""

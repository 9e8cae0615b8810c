"""The names a catalogue file may refer to: those built in and those written beside it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from upkeep.errors import Fault, KeyPath
from upkeep.naming import suggest


@dataclass(frozen=True, kw_only=True, slots=True)
class Names:
    """Every name written in one section, usable or not: a faulty row is reported where it stands.

    whole: False when a file could not be read, so that any name may be in it.
    """

    what: str
    written: frozenset[str]
    whole: bool

    def check(self, names: Iterable[str], path: KeyPath, faults: list[Fault]) -> None:
        """Report each name of a list that nobody wrote; "" stands for one reported before."""
        for place, name in enumerate(names):
            self.check_one(name, (*path, place), faults)

    def check_one(self, name: str, path: KeyPath, faults: list[Fault]) -> None:
        """Report a name that nobody wrote."""
        if self.whole and name and name not in self.written:
            fix = suggest(name, sorted(self.written), f"add [{self.what}.{name}]")
            faults.append(Fault(path, f"{self.what} {name} is not known", fix))


def check_distinct(names: Sequence[str], path: KeyPath, key: str, faults: list[Fault]) -> None:
    """Report each name of a list of tables that stands in an earlier one already."""
    for place, name in enumerate(names):
        if name and name in names[:place]:
            fault = Fault((*path, place, key), f"{key} {name} is used twice", "choose another")
            faults.append(fault)

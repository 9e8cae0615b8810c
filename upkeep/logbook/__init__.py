"""The logbook: what was done and read, entry by entry, in a database that only ever grows."""

from upkeep.logbook.entries import Break, Draft, Entry, Facts, Head, correct
from upkeep.logbook.store import FILE, Logbook, open_logbook

__all__ = [
    "FILE",
    "Break",
    "Draft",
    "Entry",
    "Facts",
    "Head",
    "Logbook",
    "correct",
    "open_logbook",
]

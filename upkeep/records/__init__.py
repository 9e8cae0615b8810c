"""The records of a fleet folder: read, checked, and turned into the model."""

from upkeep.records.load import LoadedFleet, load_fleet

__all__ = ["LoadedFleet", "load_fleet"]

"""What a handbook says: content as blocks, without markup, files or a clock."""

from upkeep.handbook.build import build_book
from upkeep.handbook.material import as_of_day

__all__ = ["as_of_day", "build_book"]

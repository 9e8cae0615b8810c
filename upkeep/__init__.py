"""Walkround: from a vessel's record to due dates, a calendar and a handbook."""

__version__ = "0.1.0"

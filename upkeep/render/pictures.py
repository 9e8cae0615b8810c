"""What kind of picture some bytes are: by their first bytes, never by a file's name.

PNG: W3C recommendation, third edition, 5.2. JPEG: ISO/IEC 10918-1, annex B (SOI, then a marker).
"""

from __future__ import annotations

_SIGNATURES = ((b"\x89PNG\r\n\x1a\n", "png"), (b"\xff\xd8\xff", "jpeg"))


def sniff(data: bytes) -> str | None:
    """Tell "png" or "jpeg"; None for anything else."""
    return next((kind for start, kind in _SIGNATURES if data.startswith(start)), None)

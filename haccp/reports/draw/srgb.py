"""The colours of sRGB as an ICC profile of version 2, which PDF/A asks a file to bring along.

Primaries, white and curve are those of IEC 61966-2-1; the primaries adapted to D50 with the Bradford matrix, as the
ICC's own sRGB profiles have them. Version 2 (ICC.1:2001-04) because PDF/A-1 knows no later one.
"""

import struct
from functools import lru_cache

# X, Y, Z of white (D50) and of the three primaries, adapted to it.
WHITE = (0.9642, 1.0, 0.8249)
PRIMARIES = {
    b"rXYZ": (0.43607, 0.22249, 0.01392),
    b"gXYZ": (0.38515, 0.71687, 0.09708),
    b"bXYZ": (0.14307, 0.06061, 0.71410),
}
CURVE_POINTS = 1024
NAME = b"sRGB IEC61966-2.1"
# The profile says when it was made; ours always says the same.
MADE = (2026, 1, 1, 0, 0, 0)
HEADER_BYTES, ENTRY_BYTES = 128, 12


def linear(value: float) -> float:
    """Light of a colour value, both from 0 to 1 (IEC 61966-2-1, 5.2)."""
    return float(value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4)


@lru_cache(maxsize=1)
def srgb_profile() -> bytes:
    curve = struct.pack(">4sII", b"curv", 0, CURVE_POINTS)
    steps = (round(65535 * linear(i / (CURVE_POINTS - 1))) for i in range(CURVE_POINTS))
    curve += b"".join(struct.pack(">H", step) for step in steps)
    shared = {b"wtpt": _xyz(WHITE), **{name: _xyz(value) for name, value in PRIMARIES.items()}}
    tags = {b"desc": _described(), b"cprt": b"text\0\0\0\0No copyright is claimed.\0", **shared}
    body, entries = b"", []
    start = HEADER_BYTES + 4 + ENTRY_BYTES * (len(tags) + 3)
    for name, data in tags.items():
        entries.append((name, start + len(body), len(data)))
        body += data + b"\0" * (-len(data) % 4)
    entries += [(name, start + len(body), len(curve)) for name in (b"rTRC", b"gTRC", b"bTRC")]
    body += curve + b"\0" * (-len(curve) % 4)
    table = struct.pack(">I", len(entries)) + b"".join(struct.pack(">4sII", *entry) for entry in entries)
    return _header(start + len(body)) + table + body


def _header(size: int) -> bytes:
    head = struct.pack(">I4sI4s4s4s6H4s", size, b"\0" * 4, 0x02100000, b"mntr", b"RGB ", b"XYZ ", *MADE, b"acsp")
    head += b"\0" * 28 + struct.pack(">3I", *(round(65536 * value) for value in WHITE))
    return head.ljust(HEADER_BYTES, b"\0")


def _xyz(value: tuple[float, float, float]) -> bytes:
    return b"XYZ \0\0\0\0" + struct.pack(">3i", *(round(65536 * part) for part in value))


def _described() -> bytes:
    """textDescriptionType: the name in ASCII, then empty places for Unicode and for Macintosh."""
    name = NAME + b"\0"
    return b"desc\0\0\0\0" + struct.pack(">I", len(name)) + name + b"\0" * (8 + 3 + 67)

"""Files as a vat's recorder writes them, for a given moment: 45 minutes, one sample a second, two probes, a header."""

from collections.abc import Callable
from datetime import datetime
from zoneinfo import ZoneInfo

from fixtures.recorders.make_files import header, seconds_from, table, vat

Writer = Callable[[datetime, ZoneInfo], bytes]
SENTINEL_LINE = 150


def plain(start: datetime, zone: ZoneInfo) -> bytes:
    milk, air = vat(seed=10)
    times = (f"{at:%Y-%m-%d %H:%M:%S}" for at in seconds_from(start, milk.size, zone))
    return (header(start) + "Time,Milk (°C),Air space (°C)\n" + table(times, (milk, air))).encode()


def decimal_comma(start: datetime, zone: ZoneInfo) -> bytes:
    """As a recorder set to German exports it: semicolons, decimal commas, day.month.year, Windows' code page."""
    milk, air = vat(seed=10)
    times = (f"{at:%d.%m.%Y %H:%M:%S}" for at in seconds_from(start, milk.size, zone))
    head = f"Schreiber;Zweikanal 0417\nOrt;Kessel 1\nTakt;1 s\nBeginn;{start:%d.%m.%Y %H:%M:%S}\n\n"
    text = head + "Zeit;Milch (°C);Luft (°C)\n" + table(times, (milk, air), delimiter=";", decimal_mark=",")
    return text.replace("\n", "\r\n").encode("cp1252")


def bad(start: datetime, zone: ZoneInfo) -> dict[str, bytes]:
    """File name -> content that cannot be used."""
    lines = plain(start, zone).decode().splitlines(keepends=True)
    broken = lines.copy()
    time, milk, _ = broken[SENTINEL_LINE - 1].rstrip("\n").split(",")
    broken[SENTINEL_LINE - 1] = f"{time},{milk},9999\n"
    return {
        "probe_loose.csv": "".join(broken).encode(),
        "cut_off.csv": "".join(lines[:3]).encode() + b"Started,2",
        "memory_dump.csv": b"RUN0417\x00\x01" + bytes(range(256)) * 4,
    }

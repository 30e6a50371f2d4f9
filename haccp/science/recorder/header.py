"""What the header block says of the readings under it: when they start, and in which unit they are."""

import re
from collections.abc import Callable

from haccp.science.recorder import columns, stamps, vocabulary


def start_text(header: dict[str, str]) -> str | None:
    """The date and time of the start as written: from one line, or from a line each."""
    stamp = _first(header, stamps.is_stamp, (vocabulary.START, vocabulary.DAY))
    if stamp is not None:
        return stamp
    day, clock = date_text(header), _first(header, stamps.is_clock, (vocabulary.START, vocabulary.TIME))
    return f"{day} {clock}" if day is not None and clock is not None else None


def date_text(header: dict[str, str]) -> str | None:
    """The date of the readings as written, alone or from the date and time of the start."""
    day = _first(header, stamps.is_date, (vocabulary.START, vocabulary.DAY))
    if day is not None:
        return day
    stamp = _first(header, stamps.is_stamp, (vocabulary.START, vocabulary.DAY))
    match = stamps.STAMP.fullmatch(stamp) if stamp else None
    return re.split(r"[T_ ,]", match.string)[0] if match else None


def temperature_unit(header: dict[str, str]) -> str | None:
    """ "C" or "F", where a line of the header is about units."""
    for key, value in header.items():
        scale = columns.scale_named(value)
        if scale and vocabulary.words(key) & vocabulary.UNIT:
            return scale
    return None


def _first(header: dict[str, str], fits: Callable[[str], bool], wanted: tuple[frozenset[str], ...]) -> str | None:
    """The first fitting value whose key has one of the words wanted, by the order of `wanted`.

    A date under any other key (of a calibration, of a batch) is not taken for that of the readings.
    """
    lines = [(vocabulary.words(key), value) for key, value in header.items() if fits(value)]
    lines = [(words, value) for words, value in lines if not words & vocabulary.NOT_START]
    for sought in wanted:
        for words, value in lines:
            if words & sought:
                return value
    return None

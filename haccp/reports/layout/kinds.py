"""Kinds of documents of records: which sections each is put together from, and what it is called."""

from dataclasses import dataclass

FULL = (
    "summary",
    "plan",
    "ccps",
    "heat",
    "acidity",
    "climate",
    "batches",
    "milk",
    "trade",
    "missed",
    "deviations",
    "cleaning",
    "others",
    "laboratory",
    "instruments",
    "calibrations",
    "people",
    "days",
    "signatures",
    "verification",
)


@dataclass(frozen=True, slots=True)
class Kind:
    """has_cover: a cover and a page of contents; else a head on the first page.

    Where there are batches there are heat and acidity: a batch leads to its charts.
    """

    title: str
    sections: tuple[str, ...]
    has_cover: bool = False


PACK = Kind("Food-safety records", FULL, has_cover=True)
BATCH = Kind(
    "Record of a batch",
    (
        "batches",
        "milk",
        "trade",
        "heat",
        "acidity",
        "ccps",
        "cleaning",
        "others",
        "climate",
        "missed",
        "deviations",
        "laboratory",
        "instruments",
        "calibrations",
        "people",
        "days",
        "signatures",
        "verification",
    ),
)
DEVIATION = Kind(
    "Deviation report",
    (
        "deviations",
        "ccps",
        "cleaning",
        "others",
        "heat",
        "acidity",
        "missed",
        "batches",
        "laboratory",
        "instruments",
        "calibrations",
        "people",
        "signatures",
        "verification",
    ),
)
DAY = Kind(
    "Day book",
    (
        "summary",
        "ccps",
        "heat",
        "acidity",
        "cleaning",
        "others",
        "batches",
        "milk",
        "trade",
        "missed",
        "deviations",
        "people",
        "days",
        "signatures",
        "verification",
    ),
)
CLEANING = Kind(
    "Cleaning log", ("summary", "cleaning", "missed", "deviations", "people", "days", "signatures", "verification")
)

"""Kinds of documents of records: which sections each is put together from, and what it is called."""

from dataclasses import dataclass

from haccp.reports.languages import own

FULL = (
    "summary",
    "plan",
    "ccps",
    "heat",
    "acidity",
    "climate",
    "rooms",
    "batches",
    "care",
    "milk",
    "receiving",
    "trade",
    "missed",
    "deviations",
    "cleaning",
    "cleanings",
    "swabs",
    "others",
    "laboratory",
    "instruments",
    "calibrations",
    "doubts",
    "training",
    "trainings",
    "people",
    "arrangements",
    "days",
    "signatures",
    "verification",
    "index",
)


@dataclass(frozen=True, slots=True)
class Kind:
    """has_cover: a cover and a page of contents; else a head on the first page.

    Where there are batches there are heat and acidity: a batch leads to its charts.
    """

    title: str
    sections: tuple[str, ...]
    has_cover: bool = False


PACK = Kind(own("Food-safety records"), FULL, has_cover=True)
BATCH = Kind(
    own("Record of a batch"),
    (
        "batches",
        "care",
        "milk",
        "receiving",
        "trade",
        "heat",
        "acidity",
        "ccps",
        "cleaning",
        "cleanings",
        "others",
        "climate",
        "missed",
        "deviations",
        "laboratory",
        "instruments",
        "calibrations",
        "doubts",
        "people",
        "days",
        "signatures",
        "verification",
    ),
)
DEVIATION = Kind(
    own("Deviation report"),
    (
        "deviations",
        "ccps",
        "cleaning",
        "cleanings",
        "swabs",
        "others",
        "heat",
        "acidity",
        "missed",
        "batches",
        "laboratory",
        "instruments",
        "calibrations",
        "doubts",
        "people",
        "signatures",
        "verification",
    ),
)
DAY = Kind(
    own("Day book"),
    (
        "summary",
        "ccps",
        "heat",
        "acidity",
        "rooms",
        "cleaning",
        "cleanings",
        "swabs",
        "others",
        "training",
        "trainings",
        "batches",
        "care",
        "milk",
        "receiving",
        "trade",
        "missed",
        "deviations",
        "calibrations",
        "doubts",
        "people",
        "arrangements",
        "days",
        "signatures",
        "verification",
    ),
)
CLEANING = Kind(
    own("Cleaning log"),
    ("summary", "cleaning", "cleanings", "missed", "deviations", "people", "days", "signatures", "verification"),
)

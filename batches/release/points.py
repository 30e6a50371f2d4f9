"""What the release gate says of a batch: one point for each thing that it looks at."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from uuid import UUID


class Standing(StrEnum):
    """Only what is met lets a batch go."""

    OUTSTANDING = "outstanding"  # known not to be as it must be, or not done yet
    UNPROVEN = "unproven"  # nothing recorded shows it either way
    MET = "met"


class Matter(StrEnum):
    """What a point is about, in the order in which it is told."""

    HOLD = "hold"
    DEVIATION = "deviation"
    LIMIT = "critical limit"
    CHECK = "check"
    AGEING = "ageing"
    LABORATORY = "laboratory"
    MILK = "milk"
    INGREDIENT = "ingredients"
    CLEANING = "cleaning"
    ROOM = "room"
    DAY_BOOK = "day book"
    LABEL = "label"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Link:
    """Where a point is looked into: the name of a page and what it is about (None for a page of its own)."""

    view: str
    label: str
    about: UUID | str | None = None


@dataclass(frozen=True, slots=True)
class Point:
    """words: a sentence for a person, the same for the same facts, since a signature binds to it.

    earliest: the first day on which a point that is not met can be, where time alone decides; None where a person
    must do something first.
    """

    standing: Standing
    words: str
    matter: Matter = Matter.OTHER
    link: Link | None = None
    earliest: date | None = None

    @property
    def is_met(self) -> bool:
        return self.standing is Standing.MET


def met(matter: Matter, words: str, link: Link | None = None) -> Point:
    return Point(Standing.MET, words, matter, link)


def outstanding(matter: Matter, words: str, link: Link | None = None, earliest: date | None = None) -> Point:
    return Point(Standing.OUTSTANDING, words, matter, link, earliest)


def unproven(matter: Matter, words: str, link: Link | None = None, earliest: date | None = None) -> Point:
    return Point(Standing.UNPROVEN, words, matter, link, earliest)

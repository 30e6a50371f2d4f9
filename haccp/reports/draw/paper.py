"""Sheets of paper that a pack can be printed on."""

from dataclasses import dataclass

from reportlab.lib.pagesizes import A4 as A4_POINTS
from reportlab.lib.pagesizes import LETTER as LETTER_POINTS
from reportlab.lib.units import mm

# Where paper is sold as Letter; everywhere else it is A4.
LETTER_JURISDICTIONS = frozenset({"US", "CA"})


@dataclass(frozen=True, slots=True)
class Paper:
    """All lengths in points (1/72 inch). left is wider than right, so that a pack can be filed in a ring binder."""

    name: str
    width: float
    height: float
    left: float = 20 * mm
    right: float = 15 * mm
    top: float = 22 * mm
    bottom: float = 20 * mm

    @property
    def text_width(self) -> float:
        return self.width - self.left - self.right

    @property
    def text_height(self) -> float:
        return self.height - self.top - self.bottom


A4 = Paper("A4", *A4_POINTS)
LETTER = Paper("Letter", *LETTER_POINTS)


def paper_of(jurisdiction: str) -> Paper:
    return LETTER if jurisdiction in LETTER_JURISDICTIONS else A4

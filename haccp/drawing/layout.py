"""Sheets that a picture is laid out for: a desk, a phone, a page of a pack."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Layout:
    """width, height: natural size in CSS pixels; height is the least, labels may need more.

    size: of the type, never under 11 at natural size. label_column: the most that labels at the right may take.
    """

    width: float
    height: float
    size: float
    label_column: float


WIDE = Layout(width=960, height=380, size=15, label_column=170)
COMPACT = Layout(width=390, height=330, size=13, label_column=92)
PRINT = Layout(width=680, height=300, size=13, label_column=130)

"""What a mark means, and the ink it is drawn with on the page and on paper.

The colours are chosen so that no two lines that can meet are told apart by colour alone: dash, marker and
label say the same again, for a black-and-white printer and for colour-blind eyes.
"""

from dataclasses import dataclass
from enum import StrEnum


class Role(StrEnum):
    PLOT = "plot"
    GRID = "grid"
    AXIS = "axis"
    LABEL = "label"
    MUTED = "muted"
    SERIES_1 = "series1"
    SERIES_2 = "series2"
    SERIES_3 = "series3"
    SERIES_4 = "series4"
    LIMIT = "limit"
    TARGET = "target"
    FORBIDDEN = "forbidden"
    BAND = "band"
    HOLD = "hold"
    GAP = "gap"
    PROBLEM = "problem"
    EVENT = "event"
    MISSED = "missed"


@dataclass(frozen=True, slots=True)
class Ink:
    """line: colour of strokes and text; area: colour of a filled surface; width: stroke width in picture units."""

    line: str
    area: str
    width: float


INKS: dict[Role, Ink] = {
    Role.PLOT: Ink("#ffffff", "#ffffff", 1.0),
    Role.GRID: Ink("#dfe3e8", "#f5f6f8", 1.0),
    Role.AXIS: Ink("#5b6470", "#5b6470", 1.25),
    Role.LABEL: Ink("#1f2933", "#1f2933", 1.0),
    Role.MUTED: Ink("#535e6b", "#e9ecf0", 1.0),
    Role.SERIES_1: Ink("#0b4f8a", "#0b4f8a", 2.25),
    Role.SERIES_2: Ink("#a8500a", "#a8500a", 1.75),
    Role.SERIES_3: Ink("#2b6e57", "#2b6e57", 1.75),
    Role.SERIES_4: Ink("#6f3a85", "#6f3a85", 1.75),
    Role.LIMIT: Ink("#a3142b", "#a3142b", 2.0),
    Role.TARGET: Ink("#7a5a00", "#7a5a00", 1.5),
    Role.FORBIDDEN: Ink("#dba3ab", "#fcf3f4", 1.0),
    Role.BAND: Ink("#1d5c49", "#e9f3ef", 1.0),
    Role.HOLD: Ink("#1d5c49", "#deede6", 2.0),
    Role.GAP: Ink("#5c6673", "#eef0f3", 1.25),
    Role.PROBLEM: Ink("#a3142b", "#fbe4e7", 1.5),
    Role.EVENT: Ink("#3d4854", "#3d4854", 1.0),
    Role.MISSED: Ink("#a3142b", "#ffffff", 1.75),
}

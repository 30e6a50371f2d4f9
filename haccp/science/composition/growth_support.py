"""What pH and water activity together let grow: the published interaction tables, as they stand.

Where the instruments' uncertainty is given, the judgement is of the worst that it leaves credible (guard band of
JCGM 106): higher pH and higher water activity.
"""

from dataclasses import dataclass
from enum import StrEnum

from haccp.science.errors import InputError
from haccp.science.guard import guard_band

_NOISE = 1e-9


class Tcs(StrEnum):
    """FDA Food Code 1-201.10: time/temperature control for safety."""

    NOT_NEEDED = "not_needed"  # “non-TCS”: held without control of time and temperature
    ASSESSMENT = "assessment"  # “PA”: TCS until an assessment of the product shows otherwise


class ListeriaClass(StrEnum):
    """Regulation (EC) 2073/2005, Annex I, chapter 1, category 1.2 or 1.3."""

    UNABLE = "unable"  # belongs automatically to 1.3
    ABLE = "able"  # to be taken as able to support growth, unless there is scientific justification


@dataclass(frozen=True, slots=True)
class Doubt:
    """Expanded uncertainties (k = 2) of the two instruments."""

    ph: float = 0.0
    aw: float = 0.0


_EXACT = Doubt()
_B_PH = (4.2, 4.6, 5.0)
_A_PH, _A_AW = (4.6, 5.6), (0.92, 0.95)
_NON, _PA = Tcs.NOT_NEEDED, Tcs.ASSESSMENT
# Rows by water activity: < 0.88; 0.88 to 0.90; > 0.90 to 0.92; > 0.92.
# Columns by pH: < 4.2; 4.2 to 4.6; > 4.6 to 5.0; > 5.0.
_TABLE_B = (
    (_NON, _NON, _NON, _NON),
    (_NON, _NON, _NON, _PA),
    (_NON, _NON, _PA, _PA),
    (_NON, _PA, _PA, _PA),
)
# Rows: ≤ 0.92; > 0.92 to 0.95; > 0.95. Columns: ≤ 4.6; > 4.6 to 5.6; > 5.6.
_TABLE_A = ((_NON, _NON, _NON), (_NON, _NON, _PA), (_NON, _PA, _PA))


def food_code_table_a(ph: float, aw: float, doubt: Doubt = _EXACT) -> Tcs:
    """Interaction table A: food heat-treated to destroy vegetative cells and packaged afterwards.

    FDA Food Code 1-201.10 (read in state copies). InputError for values that cannot be.
    """
    ph, aw = _worst(ph, aw, doubt)
    return _TABLE_A[_above(aw, _A_AW)][_above(ph, _A_PH)]


def food_code_table_b(ph: float, aw: float, doubt: Doubt = _EXACT) -> Tcs:
    """Interaction table B: food not heat-treated, or heat-treated and not packaged.

    FDA Food Code 1-201.10 (read in state copies). InputError for values that cannot be.
    """
    ph, aw = _worst(ph, aw, doubt)
    # The first bounds are “less than”: 4.2 and 0.88 themselves belong to the second column and row
    column = 0 if ph < _B_PH[0] - _NOISE else 1 + _above(ph, _B_PH[1:])
    row = 0 if aw < 0.88 - _NOISE else 1 + _above(aw, (0.90, 0.92))
    return _TABLE_B[row][column]


def listeria_class(
    ph: float, aw: float, doubt: Doubt = _EXACT, *, shelf_life_days: float | None = None
) -> ListeriaClass:
    """Whether a ready-to-eat food counts as unable to support L. monocytogenes.

    pH ≤ 4.4, or aw ≤ 0.92, or pH ≤ 5.0 with aw ≤ 0.94 (Regulation (EC) 2073/2005, Annex I, chapter 1, footnote 8,
    read); or a shelf life of less than five days (from memory). InputError for values that cannot be.
    """
    ph, aw = _worst(ph, aw, doubt)
    is_short = shelf_life_days is not None and shelf_life_days < 5
    is_acid, is_dry = ph <= 4.4 + _NOISE, aw <= 0.92 + _NOISE
    is_both = ph <= 5.0 + _NOISE and aw <= 0.94 + _NOISE
    return ListeriaClass.UNABLE if is_acid or is_dry or is_both or is_short else ListeriaClass.ABLE


def _worst(ph: float, aw: float, doubt: Doubt) -> tuple[float, float]:
    if not 0 <= ph <= 14:
        raise InputError(f"pH {ph:g} cannot be.", remedy="Read the meter again and type what it shows.")
    if not 0 <= aw <= 1:
        raise InputError(f"A water activity of {aw:g} cannot be.", remedy="Type it from 0 to 1, such as 0.95.")
    return ph + guard_band(doubt.ph), aw + guard_band(doubt.aw)


def _above(value: float, bounds: tuple[float, ...]) -> int:
    """How many of the bounds the value exceeds."""
    return sum(value > bound + _NOISE for bound in bounds)

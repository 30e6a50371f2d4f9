"""From the flocculation time to the cut: flocculation time × the product's multiplier, both from renneting.

Common practice, no source.
"""

import math
from dataclasses import dataclass

from haccp.science.errors import InputError


@dataclass(frozen=True, slots=True)
class SetTime:
    """total_s: from the addition of rennet to the cut. remaining_s: of it, from flocculation on."""

    flocculation_s: float
    multiplier: float
    total_s: float
    remaining_s: float

    def left_s(self, elapsed_s: float) -> float:
        """What is left elapsed_s after the rennet; below zero once the cut is late."""
        return self.total_s - elapsed_s


def set_time(flocculation_s: float, multiplier: float) -> SetTime:
    """The set time of a vat that flocculated flocculation_s after the rennet went in.

    InputError for a flocculation time outside 1 min to 3 h and a multiplier outside 1 to 10.
    """
    if not (math.isfinite(flocculation_s) and 60 <= flocculation_s <= 3 * 3600):
        raise InputError(
            "Flocculation is seen between 1 min and 3 h after the rennet.",
            remedy="Give the time from the addition of rennet, in minutes and seconds.",
        )
    if not (math.isfinite(multiplier) and 1 <= multiplier <= 10):
        raise InputError(
            f"{multiplier:g} is not a plausible multiplier (1 to 10).", remedy="Give the multiplier of the product."
        )
    total_s = flocculation_s * multiplier
    return SetTime(flocculation_s, multiplier, total_s, total_s - flocculation_s)

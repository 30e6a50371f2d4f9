"""What a limit says of a measurement, and how far from it the measurement stands."""

from dataclasses import dataclass, field
from enum import StrEnum


class Ruling(StrEnum):
    """The five answers a limit can give.

    Only MET and CLOSE let product go on. AWAITED exists because a limit "pH ≤ 5.3 within 6 h" has not spoken
    at the second hour: storing MET or BREACHED then would be untrue.
    """

    MET = "met"
    CLOSE = "close"  # met, but past the target that warns before the limit
    BREACHED = "breached"
    UNPROVEN = "unproven"  # a gap, an unfit instrument, or a value within its uncertainty of the limit
    AWAITED = "awaited"  # the moment the limit speaks of has not come

    @property
    def is_satisfied(self) -> bool:
        return self in (Ruling.MET, Ruling.CLOSE)

    @property
    def opens_deviation(self) -> bool:
        """Unproven is never treated as met, so it opens a deviation as a breach does."""
        return self in (Ruling.BREACHED, Ruling.UNPROVEN)


JsonValue = str | int | float | bool | None | list["JsonValue"] | dict[str, "JsonValue"]


@dataclass(frozen=True, slots=True)
class Verdict:
    """A ruling with its reason.

    margin: distance to the limit in the unit of the quantity judged (SI, or s for a holding time), positive on
        the safe side; None where no number can be given (a gap, a missing answer).
    code: stable dotted code of the reason, so that the sentence can be translated without touching history.
    facts: the numbers behind the sentence, JSON-able.
    reason: one English sentence with those numbers, as the person saw it when it was decided.
    """

    ruling: Ruling
    margin: float | None
    code: str
    reason: str
    facts: dict[str, JsonValue] = field(default_factory=dict)

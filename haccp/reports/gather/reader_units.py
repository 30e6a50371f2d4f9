"""The units that whoever asked reads quantities in. What was typed is never replaced: theirs stands beside it."""

from dataclasses import dataclass

from haccp.plan.models import CriticalLimit
from haccp.premises.models import User
from haccp.science.units import quantity_of, show, unit_of

PREFERRED = ("temperature", "volume", "mass")


@dataclass(frozen=True, slots=True)
class ReaderUnits:
    """of_quantity: (key of a quantity, unit) for those that the reader prefers one for."""

    of_quantity: tuple[tuple[str, str], ...] = ()

    @classmethod
    def of(cls, reader: User) -> "ReaderUnits":
        wanted = ((quantity, reader.preferred_unit(quantity)) for quantity in PREFERRED)
        return cls(tuple((quantity, unit) for quantity, unit in wanted if unit))

    def unit(self, quantity: str) -> str:
        """ "" where the reader has no preference."""
        return dict(self.of_quantity).get(quantity, "")

    def show(self, quantity: str, value_si: float) -> str:
        """A value that was worked out, in the reader's unit."""
        return show(quantity, value_si, self.unit(quantity))

    def beside(self, quantity: str, value_si: float | None, typed_unit: str) -> str:
        """ " (51.8 °F)" beside what was typed in another unit, else empty."""
        theirs = self._other(quantity, typed_unit)
        return f" ({show(quantity, value_si, theirs)})" if theirs and value_si is not None else ""

    def beside_limit(self, limit: CriticalLimit) -> str:
        """The bounds of a limit in the reader's unit, " [at most 42.8 °F]", where the plan says them in another."""
        theirs = self._other(limit.quantity, limit.unit) if limit.quantity else ""
        low, high = (show(limit.quantity, one, theirs) if theirs and one is not None else "" for one in _bounds(limit))
        if low and high:
            return f" [{low} to {high}]"
        return f" [at least {low}]" if low else f" [at most {high}]" if high else ""

    def _other(self, quantity: str, typed_unit: str) -> str:
        """The reader's unit where it is not the one that was typed."""
        theirs = self.unit(quantity)
        if not theirs:
            return ""
        kind = quantity_of(quantity)
        return "" if unit_of(kind, typed_unit).symbol == unit_of(kind, theirs).symbol else theirs


def _bounds(limit: CriticalLimit) -> tuple[float | None, float | None]:
    return limit.low, limit.high

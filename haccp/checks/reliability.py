"""What rooms above know of an instrument at the moment of a reading: its calibration then, not today's.

They register in AppConfig.ready(); checks need not know them.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from haccp.premises.models import Instrument, Premises

Values = Mapping[str, Sequence[float]]  # quantity (key of science.units) -> SI values read with the instrument


@dataclass(frozen=True, slots=True)
class Standing:
    """expanded_uncertainty: U (k = 2) as it was then. unfit: why what was read does not count, None when it does."""

    expanded_uncertainty: float
    unfit: str | None


Provider = Callable[[Instrument, datetime, Values], Standing | None]
_providers: dict[str, Provider] = {}


def register(name: str, provider: Provider) -> None:
    """A name registered again replaces the function of before. A provider answers None where it knows nothing."""
    _providers[name] = provider


def fitness(
    instrument: Instrument | None, premises: Premises, observed_at: datetime, values: Values | None = None
) -> tuple[float, str | None]:
    """The uncertainty that an instrument states, and why it could not be relied on then (None when it could).

    What is known of it at that moment goes before what its entry says of the day.
    """
    if instrument is None:
        return 0.0, None
    day = premises.local_date(observed_at)
    if instrument.retired_at is None or premises.local_date(instrument.retired_at) >= day:
        for provider in _providers.values():
            standing = provider(instrument, observed_at, values or {})
            if standing is not None:
                return standing.expanded_uncertainty, standing.unfit
    return instrument.expanded_uncertainty, instrument.unfit_on(day)

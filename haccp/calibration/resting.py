"""What was read with an instrument besides the checks of the plan: rooms above say so, each for its own readings.

They register in AppConfig.ready(); calibration need not know them.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from haccp.lots.models import Lot
from haccp.premises.models import Instrument, Place


@dataclass(frozen=True, slots=True)
class Resting:
    """about: the row that holds the reading. words: what was read, a part of a sentence. quantity: as in science.units.

    read_at: of a recording its end. lot or place: what the reading was of. since: only a check that counts from one of
    these events of the lot asks for the same (a temperature is the milk's, the curd's or the brine's); None: any does.
    beside: the code of the control point whose record it stands beside, "" where it stands beside none.
    """

    about: UUID
    words: str
    quantity: str
    read_at: datetime
    lot: Lot | None = None
    place: Place | None = None
    since: tuple[str, ...] | None = None
    beside: str = ""


# (instrument, after or None for ever, up to) -> what rests on it, in a constant number of queries.
Source = Callable[[Instrument, datetime | None, datetime], Iterable[Resting]]
_sources: dict[str, Source] = {}


def register(name: str, source: Source) -> None:
    """name: of the kind of reading, as it is kept. A name registered again replaces the function of before."""
    _sources[name] = source


def resting_on(instrument: Instrument, since: datetime | None, until: datetime) -> list[tuple[str, Resting]]:
    """(name of the kind of reading, reading), oldest first."""
    found = [(name, one) for name, source in _sources.items() for one in source(instrument, since, until)]
    return sorted(found, key=lambda pair: (pair[1].read_at, str(pair[1].about)))

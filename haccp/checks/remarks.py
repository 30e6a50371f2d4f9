"""What rooms above say of a record after it was sealed: it is shown beside the record and never changes it.

They register in AppConfig.ready(); checks need not know them.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from uuid import UUID

from haccp.checks.models import Record


@dataclass(frozen=True, slots=True)
class Remark:
    """ruling: what the record counts as now, "" where the remark changes nothing. link: to where it is decided."""

    ruling: str
    words: str
    link: str = ""
    link_words: str = ""


Provider = Callable[[Iterable[Record]], Mapping[UUID, list[Remark]]]
_providers: dict[str, Provider] = {}


def register(name: str, provider: Provider) -> None:
    """A name registered again replaces the function of before."""
    _providers[name] = provider


def remarks_on(records: Iterable[Record]) -> dict[UUID, list[Remark]]:
    """Record -> every remark on it, in a constant number of queries."""
    records = list(records)
    found: dict[UUID, list[Remark]] = defaultdict(list)
    for provider in _providers.values():
        for record_id, remarks in provider(records).items():
            found[record_id] += remarks
    return found

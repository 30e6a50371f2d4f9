"""Why a saved record does not count any more, by what rooms above found out since: its instrument was wrong.

They register in AppConfig.ready(); checks need not know them. A record is never changed by it.
"""

from collections.abc import Callable, Collection, Iterable, Mapping
from datetime import datetime
from uuid import UUID

from haccp.checks.models import Record

# (records, known by this moment or None for today) -> record: the reason, of those that stand in doubt
Provider = Callable[[Collection[UUID], datetime | None], Mapping[UUID, str]]
_providers: dict[str, Provider] = {}


def register(name: str, provider: Provider) -> None:
    """A name registered again replaces the function of before."""
    _providers[name] = provider


def doubtful(record_ids: Collection[UUID], as_of: datetime | None = None) -> dict[UUID, str]:
    """Those of the records that nobody should lean on until they are disposed of, in a constant number of queries.

    as_of: only what was found out, and not yet disposed of, by then.
    """
    found: dict[UUID, str] = {}
    if record_ids:
        for provider in _providers.values():
            found |= provider(record_ids, as_of)
    return found


def say_doubts(records: Iterable[Record]) -> list[Record]:
    """Each that stands in doubt says so (`Record.doubt`), where its rulings are shown. Nothing is written."""
    found = list(records)
    doubts = doubtful([record.pk for record in found])
    for record in found:
        record.doubt = doubts.get(record.pk, "")
    return found

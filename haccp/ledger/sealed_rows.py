"""Rows that are sealed one entry each: how a room names them, so that verification can compare row and entry."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, TypeVar

from django.db.models import Model, QuerySet

from haccp.ledger import sealed_kinds

Row = TypeVar("Row", bound=Model)
ROWS_PER_QUERY = 500


def subject_of(prefix: str, row: Model) -> str:
    return f"{prefix}:{row.pk}"


def register_rows(
    kind: str,
    *,
    prefix: str,
    rows: Callable[[], QuerySet[Row]],
    body: Callable[[Row], Mapping[str, object]],
    log_key: str,
) -> None:
    """Registers the rows of a kind. Called from an AppConfig.ready().

    prefix: subjects are "<prefix>:<primary key>". rows: all rows of the kind, with what `body` reads prefetched.
    body: what sealing the row would give today; the action that seals it calls the same function.
    log_key: lookup from a row to the key of its log, such as "premises__log__key".
    """

    def fetch_bodies(subjects: Sequence[str]) -> dict[str, Mapping[str, object]]:
        keys = [subject.removeprefix(f"{prefix}:") for subject in subjects]
        return {subject_of(prefix, row): body(row) for row in rows().filter(pk__in=keys)}

    def all_subjects(key: str) -> Iterator[str]:
        lookup: dict[str, Any] = {log_key: key}
        for primary_key in (
            rows()
            .filter(**lookup)
            .prefetch_related(None)
            .values_list("pk", flat=True)
            .iterator(chunk_size=ROWS_PER_QUERY)
        ):
            yield f"{prefix}:{primary_key}"

    sealed_kinds.register(kind, fetch_bodies=fetch_bodies, all_subjects=all_subjects)

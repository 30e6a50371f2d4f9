"""What the ledger says of a finished pack: made the same way when it is sealed and when it is verified."""

from collections.abc import Iterator, Sequence

from haccp.reports.models import VisitPack

KIND = "pack.made"
PREFIX = "pack:"


def subject(pack: VisitPack) -> str:
    return f"{PREFIX}{pack.id}"


def pack_body(pack: VisitPack) -> dict[str, object]:
    choice = {"choice": pack.choice} if pack.choice else {}
    return choice | {
        "language": pack.language,
        "period_from": pack.period_from,
        "period_to": pack.period_to,
        "requested_by": pack.requested_by_id,
        "requested_at": pack.requested_at,
        "sha256": pack.sha256,
        "pages": pack.page_count,
        "contents": pack.contents,
    }


def pack_bodies(subjects: Sequence[str]) -> dict[str, dict[str, object]]:
    """For haccp.ledger.verification: the bodies as the rows say them today."""
    ids = [name.removeprefix(PREFIX) for name in subjects]
    return {subject(pack): pack_body(pack) for pack in VisitPack.objects.filter(id__in=ids)}


def all_subjects(log_key: str) -> Iterator[str]:
    finished = VisitPack.objects.filter(premises__log__key=log_key, finished_at__isnull=False)
    return (f"{PREFIX}{pk}" for pk in finished.order_by("pk").values_list("pk", flat=True).iterator())

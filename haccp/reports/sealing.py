"""What the ledger says of a finished pack: made the same way when it is sealed and when it is verified."""

import hashlib
from collections.abc import Iterator, Sequence

from django.core.files.storage import default_storage

from haccp.ledger.kept_bytes import agreed
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
        "sha256": _sha256_of(pack),
        "pages": pack.page_count,
        "contents": pack.contents,
    }


def _sha256_of(pack: VisitPack) -> str:
    """Of the file, so that a changed one is found; the row's where the file is gone, which backups and exports say."""
    if not pack.file.name or not default_storage.exists(pack.file.name):
        return pack.sha256
    with default_storage.open(pack.file.name) as content:
        return agreed(hashlib.file_digest(content, "sha256").hexdigest(), pack.sha256)


def pack_bodies(subjects: Sequence[str]) -> dict[str, dict[str, object]]:
    """For haccp.ledger.verification: the bodies as the rows say them today."""
    ids = [name.removeprefix(PREFIX) for name in subjects]
    return {subject(pack): pack_body(pack) for pack in VisitPack.objects.filter(id__in=ids)}


def all_subjects(log_key: str) -> Iterator[str]:
    finished = VisitPack.objects.filter(premises__log__key=log_key, finished_at__isnull=False)
    return (f"{PREFIX}{pk}" for pk in finished.order_by("pk").values_list("pk", flat=True).iterator())

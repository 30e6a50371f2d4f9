"""What the ledger says of a release: made the same way when the row is sealed and when it is verified."""

from batches.release.models import Release
from haccp.ledger.sealed_rows import register_rows


def release_body(release: Release) -> dict[str, object]:
    return {
        "lot": release.lot_id,
        "signature": release.signature_id,
        "by": release.released_by_id,
        "released": release.released_at,
        "content_sha256": release.content_sha256,
    }


def register() -> None:
    register_rows(
        "batch.released",
        prefix="release",
        rows=Release.objects.all,
        body=release_body,
        log_key="lot__premises__log__key",
    )

"""Every signature that the pack speaks of."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from batches.release.models import Release
from haccp.checks.models import DaySignature
from haccp.deviations.models import Closure
from haccp.ledger.models import Signature
from haccp.plan.models import FlowConfirmation, PlanReview, PlanRevision
from haccp.reports.dates import day_words
from haccp.reports.gather.evidence import Evidence
from haccp.reports.gather.scope import PackScope, in_groups
from haccp.reports.gather.traded import releases_in


@dataclass(frozen=True, slots=True)
class SignatureLine:
    ref: str
    printed_name: str
    signed_at: datetime
    what: str
    statement: str
    content_sha256: str


def signature_lines(scope: PackScope, evidence: Evidence) -> tuple[SignatureLine, ...]:
    """Oldest first; one query for each kind and five hundred."""
    return tuple(
        sorted(
            (
                SignatureLine(
                    ref=evidence.ref(f"signature:{signature.id}"),
                    printed_name=signature.printed_name,
                    signed_at=signature.signed_at,
                    what=what,
                    statement=signature.statement,
                    content_sha256=signature.content_sha256,
                )
                for signature, what in _signed(scope)
            ),
            key=lambda line: (line.signed_at, line.ref),
        )
    )


def _signed(scope: PackScope) -> Iterator[tuple[Signature, str]]:
    for revision in PlanRevision.objects.filter(id__in=scope.revision_ids).select_related("approval"):
        if revision.approval is not None:
            yield revision.approval, f"plan, revision {revision.number}, approved"
    for confirmed in FlowConfirmation.objects.filter(revision__in=scope.revision_ids).select_related(
        "signature", "revision"
    ):
        yield confirmed.signature, f"flow diagram of revision {confirmed.revision.number} walked and confirmed"
    for review in PlanReview.objects.filter(revision__in=scope.revision_ids).select_related("signature", "revision"):
        yield review.signature, f"plan, revision {review.revision.number}, reviewed"
    for group in in_groups(scope.deviation_ids):
        for closure in Closure.objects.filter(deviation__in=group).select_related("signature", "deviation"):
            yield closure.signature, f"deviation {closure.deviation.reference} closed"
    for release in _releases(scope):
        yield release.signature, f"batch {release.lot.code} released"
    for group in in_groups(scope.day_signature_ids):
        for signed in DaySignature.objects.filter(id__in=group).select_related("signature"):
            yield signed.signature, f"{day_words(signed.day)}, {signed.get_meaning_display()}"


def _releases(scope: PackScope) -> Iterator[Release]:
    """Of the batches shown, and those that the period released."""
    shown = set(scope.batch_ids)
    for group in in_groups(scope.batch_ids):
        yield from Release.objects.filter(lot__in=group).select_related("signature", "lot")
    for release in releases_in(scope).select_related("signature", "lot"):
        if release.lot_id not in shown:
            yield release

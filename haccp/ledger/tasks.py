"""Background work of the ledger: heads signed at intervals, and stamped where a service is configured."""

from celery import shared_task
from django.db.models import F, Max, Q
from django.utils import timezone

from haccp.ledger import signed_heads, stamps
from haccp.ledger.models import Log, SignedHead

STAMPS_AT_ONCE = 20


@shared_task(name="ledger.sign_heads")
def sign_heads() -> int:
    """Signs each log that grew since its last signed head. Returns how many."""
    grown = Log.objects.annotate(signed=Max("heads__size")).filter(
        Q(signed__isnull=True) | Q(signed__lt=F("size")), size__gt=0
    )
    signed = [signed_heads.sign_head(log_id=pk, at=timezone.now()) for pk in grown.values_list("pk", flat=True)]
    if stamps.is_configured():
        for head in SignedHead.objects.filter(stamp__isnull=True).order_by("-signed_at")[:STAMPS_AT_ONCE]:
            stamps.stamp(head)
    return len(signed)

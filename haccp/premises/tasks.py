"""Background work about people and their devices."""

from datetime import timedelta

from celery import shared_task
from django.utils import timezone

from haccp.premises.models import AnsweredRequest

KEEP_ANSWERS = timedelta(days=30)


@shared_task(name="premises.forget_requests")
def forget_requests() -> int:
    """Forgets answers to Idempotency-Keys once no device would still repeat the request."""
    deleted, _ = AnsweredRequest.objects.filter(answered_at__lt=timezone.now() - KEEP_ANSWERS).delete()
    return deleted

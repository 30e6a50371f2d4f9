"""Background work about being told."""

from celery import shared_task

from haccp.notices import actions


@shared_task(name="notices.tell")
def tell() -> int:
    """Raises alerts, makes digests and delivers; returns how many messages were sent."""
    actions.raise_alerts()
    actions.make_digests()
    return actions.deliver()

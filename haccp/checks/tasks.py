"""Background work about checks."""

from celery import shared_task

from haccp.checks import actions


@shared_task(name="checks.sweep")
def sweep() -> int:
    """Plans and flags; returns how many checks were newly flagged as missed."""
    return actions.sweep().flagged

"""Background work about exports."""

from uuid import UUID

from celery import shared_task

from haccp.background.hand_over import hand_over


@shared_task(name="keeping.make_export")
def make_export(export_id: str) -> bool:
    """Makes one, unless somebody else does; returns whether this call finished it."""
    from haccp.keeping.actions import export_make

    return export_make(export_id=UUID(export_id))


@shared_task(name="keeping.take_up_exports")
def take_up_exports() -> int:
    """Hands over those that nobody is making: asked for before a restart, or left by a worker that was killed."""
    from haccp.keeping.actions import exports_left

    left = exports_left()
    for export_id in left:
        hand_over(make_export, str(export_id))
    return len(left)

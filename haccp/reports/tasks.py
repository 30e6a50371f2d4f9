"""Background work about visit packs."""

from uuid import UUID

from celery import shared_task

from haccp.reports import actions


@shared_task(name="reports.make_pack")
def make_pack(pack_id: str) -> bool:
    """Makes one pack, unless somebody else does; returns whether this call finished it."""
    return actions.pack_make(pack_id=UUID(pack_id))


@shared_task(name="reports.take_up_packs")
def take_up_packs() -> int:
    """Hands over the packs that nobody is making: asked for before a restart, or left by a worker that was killed."""
    return actions.packs_take_up()

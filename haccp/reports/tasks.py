"""Background work about visit packs."""

from uuid import UUID

from celery import shared_task

from haccp.background.hand_over import hand_over
from haccp.reports import making


@shared_task(name="reports.make_pack")
def make_pack(pack_id: str) -> bool:
    """Makes one pack, unless somebody else does; returns whether this call finished it."""
    return making.pack_make(pack_id=UUID(pack_id))


@shared_task(name="reports.take_up_packs")
def take_up_packs() -> int:
    """Hands over the packs that nobody is making: asked for before a restart, or left by a worker that was killed."""
    left = making.packs_left()
    for pack_id in left:
        hand_over(make_pack, str(pack_id))
    return len(left)

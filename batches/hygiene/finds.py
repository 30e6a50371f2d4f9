"""What a find of a swab touched, and touches until the surface is shown to be free."""

from collections.abc import Sequence
from datetime import datetime

from django.db.models import Q

from batches.hygiene.environment import NOTHING, free_swabs, last_free_at
from batches.hygiene.models import Swab, SwabPoint, SwabResult
from haccp.deviations.implication import Touched, touched_there
from haccp.deviations.models import Deviation
from haccp.lots.kinds import USES
from haccp.lots.models import Lot
from haccp.lots.queries import in_place_between


def touched_by(swab: Swab, until: datetime) -> list[Lot]:
    """Lots that were there, or for which it was used, since the last free swab; only where it touches cheese."""
    point = swab.point
    if point.zone != SwabPoint.Zone.CONTACT:
        return []
    since = last_free_at(point, swab.taken_at)
    there = {lot.id: lot for lot in in_place_between(point.place, since, until)}
    used = Q(events__place=point.place, events__kind__in=USES, events__occurred_at__lte=until)
    if since is not None:
        used &= Q(events__occurred_at__gt=since)
    return list((there | {lot.id: lot for lot in Lot.objects.filter(used).distinct()}).values())


def newcomers(deviation: Deviation, now: datetime) -> Sequence[Touched]:
    """Registered in haccp.deviations.reach: what a found surface touched since, too."""
    found = SwabResult.objects.filter(deviation=deviation).select_related("swab__point__place").first()
    if found is None:
        return ()
    swab = found.swab
    counts = swab.result
    if counts is None or counts.found == NOTHING:
        return ()  # the find was a mistake, as a corrected result says
    free = free_swabs(swab.point).filter(taken_at__gt=swab.taken_at)
    until = free.order_by("taken_at").values_list("taken_at", flat=True).first() or now
    since = last_free_at(swab.point, swab.taken_at)
    return touched_there(
        touched_by(swab, until), f"{swab.point.place.name} was used, and the find at {swab.point} stands", since
    )

"""Reads about releases."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from batches.release.models import Release
from haccp.checks.daybook import Section
from haccp.lots.models import Lot
from haccp.premises.models import Premises


def standing_releases(lot_ids: Iterable[UUID]) -> dict[UUID, Release]:
    """Lot -> the release that stands. A hold placed later has ended it, even one that was lifted since."""
    found = Release.objects.standing().filter(lot__in=list(lot_ids)).select_related("released_by", "signature")
    return {release.lot_id: release for release in found.order_by("released_at")}


def release_of(lot: Lot) -> Release | None:
    return standing_releases([lot.pk]).get(lot.pk)


def releases_of(lot: Lot) -> list[Release]:
    """All of them, the oldest first; those that a hold has ended too."""
    return list(Release.objects.filter(lot=lot).select_related("released_by", "signature").order_by("released_at"))


def day_section(premises: Premises, start: datetime, end: datetime) -> Section:
    """For the day book: batches released that day."""
    found = Release.objects.for_premises(premises).filter(released_at__gte=start, released_at__lt=end)
    return Section(
        "Released",
        tuple(
            {
                "id": str(one.pk),
                "reference": one.lot.code,
                "what": "released",
                "text": f"{one.lot.product.name if one.lot.product else ''}, by {one.released_by.name}",
            }
            for one in found.select_related("lot__product", "released_by").order_by("released_at", "pk")
        ),
    )

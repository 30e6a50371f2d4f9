"""Reads about releases."""

from collections.abc import Iterable
from uuid import UUID

from batches.release.models import Release
from haccp.lots.models import Lot


def standing_releases(lot_ids: Iterable[UUID]) -> dict[UUID, Release]:
    """Lot -> the release that stands. A hold placed later has ended it, even one that was lifted since."""
    found = Release.objects.standing().filter(lot__in=list(lot_ids)).select_related("released_by", "signature")
    return {release.lot_id: release for release in found.order_by("released_at")}


def release_of(lot: Lot) -> Release | None:
    return standing_releases([lot.pk]).get(lot.pk)


def releases_of(lot: Lot) -> list[Release]:
    """All of them, the oldest first; those that a hold has ended too."""
    return list(Release.objects.filter(lot=lot).select_related("released_by", "signature").order_by("released_at"))

"""Reads about visit packs."""

from dataclasses import dataclass
from datetime import date, timedelta

from haccp.premises.models import Premises
from haccp.reports.models import PackQuerySet, VisitPack

USUAL_DAYS = 30


@dataclass(frozen=True, slots=True)
class Progress:
    """state: waiting, making, finished, failed or cancelled. done of total parts; total is 0 while nobody knows."""

    state: str
    stage: str
    done: int
    total: int

    @property
    def percent(self) -> int | None:
        return int(100 * self.done / self.total) if self.total else None


def packs_of(premises: Premises) -> PackQuerySet:
    """Latest first."""
    return (
        VisitPack.objects.for_premises(premises)
        .select_related("requested_by", "premises")
        .order_by("-requested_at", "-pk")
    )


def progress_of(pack: VisitPack) -> Progress:
    return Progress(_state(pack), pack.stage, pack.done_parts, pack.total_parts)


def usual_period(today: date) -> tuple[date, date]:
    """The last thirty days, today among them."""
    return today - timedelta(days=USUAL_DAYS - 1), today


def _state(pack: VisitPack) -> str:
    if pack.is_finished:
        return "finished"
    if pack.has_failed:
        return "failed"
    if pack.is_cancelled:
        return "cancelled"
    return "making" if pack.stage else "waiting"

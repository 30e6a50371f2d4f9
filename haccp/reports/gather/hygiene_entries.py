"""How clean it was: swabs by zone with what was found, and cleanings with their methods and chemicals."""

from datetime import UTC, datetime, time
from typing import Any

from django.db.models import Q, QuerySet

from batches.hygiene.models import Cleaning, Method, Swab, SwabResult, SwabSent, UncleanUse
from batches.making.models import Make
from haccp.lots.models import LotEvent
from haccp.reports.gather.journal import Source, Told
from haccp.reports.gather.scope import PackScope


def _swabs(scope: PackScope) -> QuerySet[Any]:
    """Taken in the period; of chosen lots those of the places that their batches were made or kept in."""
    rows = Swab.objects.filter(point__place__premises=scope.period.premises_id)
    inside = rows.filter(taken_at__gte=scope.period.start, taken_at__lt=scope.period.end)
    if not scope.choice.is_whole:
        inside = inside.filter(_near(scope, "point__place")) if scope.choice.of_lots else rows.none()
    return inside.select_related("point__place", "recorded_by").prefetch_related("results")


def _near(scope: PackScope, place: str) -> Q:
    """place: the lookup that leads to a place where batches of the scope were."""
    been = LotEvent.objects.filter(lot__in=scope.batch_ids, place__isnull=False).order_by().values("place")
    vats = Make.objects.filter(lot__in=scope.batch_ids).order_by().values("vat")
    return Q(**{f"{place}__in": been}) | Q(**{f"{place}__in": vats})


def _swab(row: Swab, scope: PackScope) -> Told:
    waits = "" if row.result is not None else "; no result yet"
    text = f"tube {row.code}; zone {row.point.get_zone_display()}{waits}"
    return Told(row.taken_at, "swab taken", str(row.point), text, row.recorded_by.name)


def _sent(scope: PackScope) -> QuerySet[Any]:
    """Of the swabs shown."""
    rows = SwabSent.objects.filter(swab__in=_swabs(scope).order_by().values("pk"))
    return rows.select_related("swab__point__place", "test__sample__recorded_by")


def _swab_sent(row: SwabSent, scope: PackScope) -> Told:
    sample = row.test.sample
    text = f"tube {row.swab.code}; as sample {sample.code} to {sample.laboratory}"
    at = sample.sent_at or sample.recorded_at
    return Told(at, "swab sent", str(row.swab.point), text, sample.recorded_by.name)


def _results(scope: PackScope) -> QuerySet[Any]:
    """Of the swabs shown, and those reported in the period."""
    period = scope.period
    rows = SwabResult.objects.filter(swab__point__place__premises=period.premises_id)
    inside = Q(swab__taken_at__gte=period.start, swab__taken_at__lt=period.end)
    if scope.choice.is_whole:
        found = rows.filter(inside | Q(reported_on__gte=period.first_day, reported_on__lte=period.last_day))
    elif scope.choice.of_lots:
        found = rows.filter(inside & _near(scope, "swab__point__place") | Q(deviation__in=scope.deviation_ids))
    else:
        found = rows.filter(deviation__in=scope.deviation_ids)
    return found.select_related("swab__point__place", "deviation", "recorded_by", "replaced_by")


def _result(row: SwabResult, scope: PackScope) -> Told:
    noon = datetime.combine(row.reported_on, time(12), scope.period.zone).astimezone(UTC)
    bad = row.found != SwabResult.Found.NOTHING
    text = f"{row.get_found_display()}; tube {row.swab.code}, zone {row.swab.point.zone}; {row.laboratory} {row.report}"
    if row.deviation is not None:
        text += f"; deviation {row.deviation.reference}"
    if row.replaces_id is not None:
        text += f"; replaces an earlier result: {row.replace_reason}"
    if hasattr(row, "replaced_by"):
        text, bad = f"{text}; replaced later", False
    return Told(noon, "swab's result", str(row.swab.point), text, row.recorded_by.name, is_bad=bad)


def _unclean_uses(scope: PackScope) -> QuerySet[Any]:
    rows = UncleanUse.objects.filter(deviation__in=scope.deviation_ids)
    return rows.select_related("deviation__opened_by", "place")


def _unclean_use(row: UncleanUse, scope: PackScope) -> Told:
    by = row.deviation.opened_by.name if row.deviation.opened_by else "the schedule"
    text = f"{row.why_unclean}; deviation {row.deviation.reference}"
    return Told(row.deviation.occurred_at, "used unclean", row.place.name, text, by, is_bad=True)


def _methods(scope: PackScope) -> QuerySet[Any]:
    """Those by which it was cleaned at some time of the period."""
    period = scope.period
    rows = Method.objects.filter(place__premises=period.premises_id, recorded_at__lt=period.end)
    found = rows.filter(Q(replaced_by__isnull=True) | Q(replaced_by__recorded_at__gte=period.start))
    if not scope.choice.is_whole and not scope.cleaning:
        found = found.none()
    return found.select_related("place", "recorded_by").prefetch_related("steps", "chemicals")


def _method(row: Method, scope: PackScope) -> Told:
    steps = [f"{number}. {one.get_kind_display()}: {one.text}" for number, one in enumerate(row.steps.all(), start=1)]
    chemicals = ", ".join(sorted(one.name for one in row.chemicals.all()))
    parts = [row.name, *steps, f"Chemicals: {chemicals}" if chemicals else ""]
    what = "cleaned by it no more" if row.ends_cleaning_by else "method"
    return Told(row.recorded_at, what, row.place.name, "\n".join(filter(None, parts)), row.recorded_by.name)


def _cleanings(scope: PackScope) -> QuerySet[Any]:
    """Of the cleaning records shown."""
    ids = [one for point in scope.points for one in point.record_ids if point in scope.cleaning]
    rows = Cleaning.objects.filter(record__in=ids)
    return rows.select_related("record__recorded_by", "method__place").prefetch_related("lots__chemical")


def _cleaning(row: Cleaning, scope: PackScope) -> Told:
    used = ", ".join(str(lot) for lot in row.lots.all())
    text = f"{row.method.name}; " + (f"used: {used}" if used else "no lot of a chemical named")
    return Told(row.record.observed_at, "cleaned by method", row.method.place.name, text, row.record.recorded_by.name)


SWABS = (
    Source("swab", _swabs, _swab),
    Source("swab_sent", _sent, _swab_sent),
    Source("swab_result", _results, _result),
    Source("unclean_use", _unclean_uses, _unclean_use),
)
CLEANINGS = (Source("cleaning", _cleanings, _cleaning), Source("cleaning_method", _methods, _method))

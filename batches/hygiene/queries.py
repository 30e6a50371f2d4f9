"""Reads about cleaning: methods, the checks that are entered with them, chemicals, and the day's cleanings."""

from datetime import datetime
from uuid import UUID

from django.db.models import Prefetch, Q, QuerySet
from django.urls import reverse

from batches.hygiene.models import Chemical, ChemicalLot, Cleaning, Method, Swab, SwabResult
from haccp.checks.daybook import JsonDict, Section
from haccp.checks.models import Record
from haccp.checks.queries import CheckToDo
from haccp.plan.models import Check
from haccp.plan.queries import revision_in_force
from haccp.premises.models import Place, Premises


def methods_in_use(premises: Premises, at: datetime, *, place: Place | None = None) -> list[Method]:
    """The methods that were asked for at a moment: set by then, and not replaced by then."""
    found = Method.objects.filter(place__premises=premises, recorded_at__lte=at, ends_cleaning_by=False).exclude(
        replaced_by__recorded_at__lte=at
    )
    if place is not None:
        found = found.filter(place=place)
    return list(found.select_related("place__premises").prefetch_related("steps", "chemicals"))


def method_of(premises: Premises, method_id: UUID) -> Method | None:
    return (
        Method.objects.filter(place__premises=premises, id=method_id)
        .select_related("place__premises", "replaced_by", "recorded_by")
        .prefetch_related("steps", "chemicals")
        .first()
    )


def check_ids(check_key: UUID) -> list[UUID]:
    """The check of a method in every revision that has it."""
    return list(Check.objects.filter(Q(pk=check_key) | Q(origin=check_key)).values_list("pk", flat=True))


def check_in_force(premises: Premises, method: Method, at: datetime) -> Check | None:
    revision = revision_in_force(premises, at)
    if revision is None:
        return None
    return revision.checks.filter(pk__in=check_ids(method.check_key)).first()


def cleaning_checks(premises: Premises, place: Place, now: datetime) -> list[Check]:
    """The checks of a place in the plan in force, which a method may be entered with."""
    revision = revision_in_force(premises, now)
    return list(revision.checks.filter(place=place).order_by("name")) if revision else []


def page_for(todo: CheckToDo) -> str | None:
    """A check that a cleaning method is entered with has its own page; registered in checks.entry_pages."""
    if todo.check.place_id is None:
        return None
    method = Method.objects.filter(
        place=todo.check.place_id,
        check_key__in=[todo.check.pk, todo.check.origin or todo.check.pk],
        replaced_by__isnull=True,
        ends_cleaning_by=False,
    ).first()
    if method is None:
        return None
    due = f"?due={todo.due.pk}" if todo.due is not None else ""
    return reverse("hygiene:clean", args=[method.pk]) + due


def chemicals_of(premises: Premises) -> list[Chemical]:
    return list(Chemical.objects.filter(premises=premises).prefetch_related("lots"))


def lots_of_method(method: Method) -> dict[UUID, list[ChemicalLot]]:
    """Chemical -> its lots, newest first."""
    found: dict[UUID, list[ChemicalLot]] = {one.id: [] for one in method.chemicals.all()}
    lots = ChemicalLot.objects.filter(chemical__in=found).select_related("chemical").order_by("-recorded_at")
    for lot in lots:
        found[lot.chemical_id].append(lot)
    return found


def last_lots(method: Method) -> dict[UUID, UUID]:
    """Chemical -> the lot that was used last by this method."""
    last = Cleaning.objects.filter(method=method).order_by("-record__observed_at").first()
    return {lot.chemical_id: lot.id for lot in last.lots.all()} if last else {}


def cleanings_of(premises: Premises, count: int) -> list[Cleaning]:
    return list(
        Cleaning.objects.filter(record__premises=premises)
        .select_related("record__recorded_by", "method__place")
        .prefetch_related("lots__chemical", "record__rulings", "record__readings__measure")
        .order_by("-record__observed_at")[:count]
    )


def swab_of(premises: Premises, swab_id: UUID) -> Swab | None:
    return (
        Swab.objects.filter(point__place__premises=premises, id=swab_id)
        .select_related("point__place", "recorded_by", "sent__test__sample")
        .prefetch_related("results__recorded_by", "results__deviation")
        .first()
    )


def cleanings_with_records(premises: Premises) -> QuerySet[Cleaning]:
    """All, each with what the API tells of it."""
    records = Record.objects.with_details()
    found = Cleaning.objects.filter(record__premises=premises).select_related("method")
    return found.prefetch_related("lots", Prefetch("record", records))


def swabs_with_results(premises: Premises) -> QuerySet[Swab]:
    return Swab.objects.filter(point__place__premises=premises).select_related("sent__test").prefetch_related("results")


def swabs_to_send(premises: Premises) -> list[Swab]:
    """Those without a result that no laboratory has yet, oldest first."""
    waiting = Swab.objects.filter(point__place__premises=premises, results__isnull=True, sent__isnull=True)
    return list(waiting.select_related("point__place").order_by("taken_at", "code"))


def day_section(premises: Premises, start: datetime, end: datetime) -> Section:
    """For the day book: with which chemicals was cleaned, which swabs were taken, and what was reported."""
    cleanings = (
        Cleaning.objects.filter(record__premises=premises, record__observed_at__gte=start, record__observed_at__lt=end)
        .select_related("method__place", "record")
        .prefetch_related("lots__chemical")
        .order_by("record__observed_at", "pk")
    )
    swabs = Swab.objects.filter(point__place__premises=premises, taken_at__gte=start, taken_at__lt=end)
    results = SwabResult.objects.filter(
        swab__point__place__premises=premises, recorded_at__gte=start, recorded_at__lt=end
    )
    lines: list[JsonDict] = [
        {
            "id": str(one.pk),
            "reference": one.method.place.name,
            "what": "cleaned",
            "text": f"{one.method.name}: " + (", ".join(str(lot) for lot in one.lots.all()) or "no chemical"),
        }
        for one in cleanings
    ]
    lines += [
        {"id": str(one.pk), "reference": str(one.point), "what": "swabbed", "text": one.code}
        for one in swabs.select_related("point__place").order_by("taken_at", "pk")
    ]
    lines += [
        {"id": str(one.pk), "reference": one.swab.code, "what": "reported", "text": _reported(one)}
        for one in results.select_related("swab").order_by("recorded_at", "pk")
    ]
    return Section("Cleaning and swabs", tuple(lines))


def _reported(result: SwabResult) -> str:
    why = f"; replaces an earlier result: {result.replace_reason}" if result.replaces_id else ""
    return f"{result.get_found_display()}{why}"

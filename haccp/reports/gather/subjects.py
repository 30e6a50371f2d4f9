"""Which entries of the ledger belong to what a document shows: those that its pages name, and those behind them."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from batches.hygiene.models import ChemicalLot, CleaningLot, Rota
from batches.intake.models import IngredientLot, MilkLot
from batches.laboratory.models import TestResult
from batches.making.models import Brine, Make
from batches.release.models import Release
from batches.stock.models import Item, ItemEvent
from haccp.checks.models import DaySignature, MissedReason, Reading, Record
from haccp.deviations.models import Closure, CorrectiveStep, LotEnd, MissedAgain, Task, TaskDone, Widening
from haccp.deviations.models import Evidence as Attached
from haccp.lots.models import Hold, HoldLift, LotEvent, LotLink, LotOrigin
from haccp.plan.models import FlowConfirmation, PlanReview, PlanRevision
from haccp.reports.gather.arrangement_entries import ARRANGEMENTS
from haccp.reports.gather.doubt_entries import DOUBTS
from haccp.reports.gather.hygiene_entries import CLEANINGS, SWABS
from haccp.reports.gather.journal import journal_subjects
from haccp.reports.gather.make_entries import MAKE
from haccp.reports.gather.receiving_entries import RECEIVING
from haccp.reports.gather.ripening_entries import CARE, ROOMS
from haccp.reports.gather.scope import PackScope, in_groups
from haccp.reports.gather.trade import TRADE
from haccp.reports.gather.traded import trade_subjects
from haccp.reports.gather.training_entries import TRAININGS
from haccp.reports.gather.verifying import calibrations_in, members_in, samples_in

# Prefix of the subjects, and what it is that a deviation has any number of.
ABOUT_DEVIATIONS: tuple[tuple[str, Any], ...] = (
    ("step", CorrectiveStep),
    ("widening", Widening),
    ("missed_again", MissedAgain),
    ("task", Task),
    ("evidence", Attached),
    ("lot_end", LotEnd),
    ("closure", Closure),
)


JOURNALS = (TRADE, RECEIVING, CARE, ROOMS, SWABS, CLEANINGS, DOUBTS, TRAININGS, ARRANGEMENTS)


def subjects_of(scope: PackScope) -> Iterator[str]:
    """One query or a few for each five hundred rows of a kind."""
    for group in in_groups(scope.record_ids):
        yield from _of_records(group)
    for group in in_groups(scope.missed_ids):
        yield from _named("missed", group)
        yield from _ids("missed_reason", MissedReason.objects.filter(missed__in=group))
    for group in in_groups(scope.deviation_ids):
        yield from _of_deviations(group)
    for group in in_groups(scope.day_signature_ids):
        yield from _ids("signature", DaySignature.objects.filter(id__in=group), "signature")
    for group in in_groups(scope.batch_ids):
        yield from _of_batches(group)
    for group in in_groups(scope.milk_ids):
        yield from _of_what_went_in(group)
    for sources in JOURNALS:
        yield from journal_subjects(sources, scope)
    yield from trade_subjects(scope)
    yield from _of_hygiene(scope)
    yield from _of_verification(scope)
    yield from _of_plan(scope)


def _of_records(group: Iterable[UUID]) -> Iterator[str]:
    yield from _named("record", group)
    yield from _ids("trace", Record.objects.filter(id__in=group, trace__isnull=False), "trace")
    yield from _ids("photo", Reading.objects.filter(record__in=group, photo__isnull=False), "photo")


def _of_deviations(group: Iterable[UUID]) -> Iterator[str]:
    yield from _named("deviation", group)
    for prefix, model in ABOUT_DEVIATIONS:
        yield from _ids(prefix, model.objects.filter(deviation__in=group))
    yield from _ids("task_done", TaskDone.objects.filter(task__deviation__in=group))
    yield from _ids("signature", Closure.objects.filter(deviation__in=group), "signature")


def _of_batches(group: Sequence[UUID]) -> Iterator[str]:
    yield from _of_lots(group)
    yield from _ids("hold", Hold.objects.filter(lot__in=group))
    yield from _ids("hold_lift", HoldLift.objects.filter(hold__lot__in=group))
    yield from _ids("make", Make.objects.filter(lot__in=group))
    used = Make.objects.filter(lot__in=group, procedure__isnull=False)
    yield from _ids("procedure", used, "procedure")
    yield from _ids("lot_origin", LotOrigin.objects.filter(lot__in=group))
    yield from _ids("item", Item.objects.filter(lot__in=group))
    yield from _ids("item_event", ItemEvent.objects.filter(item__lot__in=group))
    yield from _ids("release", Release.objects.filter(lot__in=group))
    yield from _ids("signature", Release.objects.filter(lot__in=group), "signature")
    yield from journal_subjects(MAKE, group)


def _of_what_went_in(group: Sequence[UUID]) -> Iterator[str]:
    yield from _of_lots(group)
    yield from _ids("brine", Brine.objects.filter(lot__in=group))
    yield from _ids("milk", MilkLot.objects.filter(lot__in=group))
    yield from _ids("ingredient", IngredientLot.objects.filter(lot__in=group))


def _of_lots(group: Sequence[UUID]) -> Iterator[str]:
    yield from _named("lot", group)
    yield from _ids("lot_event", LotEvent.every.filter(lot__in=group))
    yield from _ids("lot_link", LotLink.objects.filter(child__in=group))


def _of_hygiene(scope: PackScope) -> Iterator[str]:
    """What cleanings and swabs refer to."""
    cleaned = CLEANINGS[0].rows(scope).order_by()
    yield from _ids("cleaning_method", cleaned, "method")
    lots = ChemicalLot.objects.filter(
        pk__in=CleaningLot.objects.filter(cleaning__in=cleaned.values("pk")).values("lot")
    )
    yield from _ids("chemical_lot", lots)
    yield from _ids("chemical", lots, "chemical")
    yield from _ids("swab_point", SWABS[0].rows(scope).order_by(), "point")
    if scope.choice.is_whole:
        yield from _ids("rota", Rota.objects.filter(premises=scope.period.premises_id))


def _of_verification(scope: PackScope) -> Iterator[str]:
    yield from _ids("calibration", calibrations_in(scope))
    samples = samples_in(scope)
    yield from _ids("sample", samples)
    yield from _ids("sample_result", TestResult.objects.filter(test__sample__in=samples.values("id")))
    if scope.choice.is_whole:
        yield from _ids("membership", members_in(scope))


def _of_plan(scope: PackScope) -> Iterator[str]:
    yield from _ids("signature", PlanRevision.objects.filter(id__in=scope.revision_ids), "approval")
    for model in (PlanReview, FlowConfirmation):
        rows: QuerySet[Any] = model._default_manager.filter(revision__in=scope.revision_ids)
        yield from _ids("signature", rows, "signature")


def _ids(prefix: str, rows: QuerySet[Any], field: str = "pk") -> Iterator[str]:
    return _named(prefix, rows.order_by().values_list(field, flat=True).distinct())


def _named(prefix: str, ids: Iterable[object]) -> Iterator[str]:
    return (f"{prefix}:{one}" for one in ids)

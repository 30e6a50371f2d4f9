"""Procedures: drafted from a family or the version in use, changed stage by stage, put in use and frozen."""

from collections.abc import Mapping
from datetime import datetime
from itertools import pairwise
from uuid import UUID

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from batches.intake.models import IngredientLot
from batches.making import sealing
from batches.making.dosing import DOSE_UNITS
from batches.making.families import FAMILIES
from batches.making.models import Dose, Procedure, ProcedureMilk, ProcedureStage, StageKind
from haccp.ledger import actions as ledger
from haccp.plan.models import MilkSpecies, Product
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

ORDERED = (
    ("temperature_low_c", "temperature_target_c", "temperature_high_c"),
    ("ph_low", "ph_target", "ph_high"),
    ("acidity_low_percent", "acidity_target_percent", "acidity_high_percent"),
    ("duration_low_s", "duration_target_s", "duration_high_s"),
)
OTHERS = ("multiplier", "salt_percent", "press_kg", "lever_advantage", "face_diameter_m", "cheeses_side_by_side")
NUMBERS = (*(name for names in ORDERED for name in names), *OTHERS)
COPIED = ("position", "kind", "name", "instruction", *NUMBERS)


@transaction.atomic
def procedure_draft(*, scope: Scope, product_id: UUID, family: str = "", now: datetime | None = None) -> Procedure:
    """The draft of a product's procedure: the one there is, else a copy of the version in use, else the stages of a
    family (key of families.FAMILIES), else empty."""
    scope.require(Right.EDIT_PROCEDURE)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    product = Product.objects.filter(premises=scope.premises, pk=product_id, retired_at__isnull=True).first()
    if product is None:
        raise ActionError("There is no such cheese at this dairy.", field="product")
    versions = Procedure.objects.filter(product=product)
    draft = versions.filter(in_use_from__isnull=True).first()
    if draft is not None:
        return draft
    latest = versions.order_by("-number").first()
    number = (versions.aggregate(last=Max("number"))["last"] or 0) + 1
    draft = Procedure.objects.create(
        product=product, number=number, drafted_at=now or timezone.now(), drafted_by=scope.user
    )
    if latest is not None:
        _copy(latest, draft)
    else:
        for position, start in enumerate(FAMILIES.get(family, ()), start=1):
            ProcedureStage.objects.create(
                procedure=draft,
                position=position,
                kind=start.kind,
                name=start.name or str(StageKind(start.kind).label),
                duration_target_s=start.duration_s,
                multiplier=start.multiplier,
            )
    return draft


def _copy(version: Procedure, draft: Procedure) -> None:
    for milk in version.milks.all():
        ProcedureMilk.objects.create(
            procedure=draft,
            species=milk.species,
            share_low_percent=milk.share_low_percent,
            share_high_percent=milk.share_high_percent,
        )
    for stage in version.stages.prefetch_related("doses"):
        copy = ProcedureStage.objects.create(procedure=draft, **{name: getattr(stage, name) for name in COPIED})
        Dose.objects.bulk_create(
            Dose(
                stage=copy,
                ingredient_kind=dose.ingredient_kind,
                name=dose.name,
                amount=dose.amount,
                unit=dose.unit,
                per_milk_l=dose.per_milk_l,
            )
            for dose in stage.doses.all()
        )


@transaction.atomic
def stage_put(
    *,
    scope: Scope,
    procedure_id: UUID,
    kind: str,
    name: str,
    instruction: str = "",
    numbers: Mapping[str, float | None],
    stage_id: UUID | None = None,
) -> ProcedureStage:
    """Adds a stage at the end of a draft, or changes one. numbers: field of ProcedureStage -> value in its SI unit.

    Raises ActionError for a low above its target or high, and numbers that cannot be.
    """
    draft = _draft(scope, procedure_id)
    if kind not in StageKind.values:
        raise ActionError("Choose what is done at this stage.", field="kind")
    _check_numbers(numbers)
    if stage_id is None:
        last = draft.stages.aggregate(last=Max("position"))["last"] or 0
        stage = ProcedureStage(procedure=draft, position=last + 1)
    else:
        stage = _stage(draft, stage_id)
    stage.kind, stage.name = kind, name.strip()[:80] or str(StageKind(kind).label)
    stage.instruction = instruction.strip()
    for field in NUMBERS:
        setattr(stage, field, numbers.get(field))
    stage.save()
    return stage


def _check_numbers(numbers: Mapping[str, float | None]) -> None:
    wrong: dict[str, str] = {}
    for names in ORDERED:
        given = [(name, value) for name in names if (value := numbers.get(name)) is not None]
        for (lower_name, lower), (_, upper) in pairwise(given):
            if lower > upper:
                wrong[lower_name] = "This is above the number after it; exchange the two."
    multiplier = numbers.get("multiplier")
    if multiplier is not None and not 1 <= multiplier <= 10:
        wrong["multiplier"] = "A multiplier of the flocculation time lies between 1 and 10."
    for name in ("salt_percent", "press_kg", "lever_advantage", "face_diameter_m", "cheeses_side_by_side"):
        value = numbers.get(name)
        if value is not None and value <= 0:
            wrong[name] = "Type a number above zero, or leave it empty."
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)


@transaction.atomic
def stage_remove(*, scope: Scope, procedure_id: UUID, stage_id: UUID) -> None:
    _stage(_draft(scope, procedure_id), stage_id).delete()


@transaction.atomic
def stage_move(*, scope: Scope, procedure_id: UUID, stage_id: UUID, up: bool) -> None:
    """One place up or down; at either end nothing happens."""
    draft = _draft(scope, procedure_id)
    stages = list(draft.stages.order_by("position"))
    here = next((i for i, stage in enumerate(stages) if stage.pk == stage_id), None)
    if here is None:
        raise ActionError("There is no such stage in this draft.", field="stage")
    there = here - 1 if up else here + 1
    if 0 <= there < len(stages):
        stages[here], stages[there] = stages[there], stages[here]
    for position, stage in enumerate(stages, start=1):
        if stage.position != position:
            ProcedureStage.objects.filter(pk=stage.pk).update(position=position)


@transaction.atomic
def dose_put(
    *,
    scope: Scope,
    procedure_id: UUID,
    stage_id: UUID,
    ingredient_kind: str,
    amount: float,
    unit: str,
    per_milk_l: float = 100.0,
    name: str = "",
) -> Dose:
    """Adds a dose to a stage. name: as on the label, so that lots of that name are offered first."""
    stage = _stage(_draft(scope, procedure_id), stage_id)
    wrong: dict[str, str] = {}
    if ingredient_kind not in IngredientLot.Kind.values:
        wrong["ingredient_kind"] = "Choose what is added."
    if unit not in DOSE_UNITS:
        wrong["unit"] = f"Choose one of: {', '.join(DOSE_UNITS)}."
    if not 0 < amount < 1e6:
        wrong["amount"] = "Type how much is added, more than nothing."
    if not 0 < per_milk_l <= 100_000:
        wrong["per_milk_l"] = "Type for how many litres of milk that is."
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    return Dose.objects.create(
        stage=stage,
        ingredient_kind=ingredient_kind,
        name=name.strip()[:120],
        amount=amount,
        unit=unit,
        per_milk_l=per_milk_l,
    )


@transaction.atomic
def dose_remove(*, scope: Scope, procedure_id: UUID, dose_id: UUID) -> None:
    draft = _draft(scope, procedure_id)
    Dose.objects.filter(stage__procedure=draft, pk=dose_id).delete()


@transaction.atomic
def milk_put(
    *, scope: Scope, procedure_id: UUID, species: str, share_low_percent: float, share_high_percent: float
) -> ProcedureMilk:
    """Which milk may go into the vat, and what share of it; replaces what was said of that milk before."""
    draft = _draft(scope, procedure_id)
    if species not in MilkSpecies.values:
        raise ActionError("Choose the animals the milk comes from.", field="species")
    if not 0 <= share_low_percent <= share_high_percent <= 100:
        raise ActionError("Shares lie between 0 and 100 %, the lower one first.", field="share_low_percent")
    milk, _ = ProcedureMilk.objects.update_or_create(
        procedure=draft,
        species=species,
        defaults={"share_low_percent": share_low_percent, "share_high_percent": share_high_percent},
    )
    return milk


@transaction.atomic
def milk_remove(*, scope: Scope, procedure_id: UUID, species: str) -> None:
    ProcedureMilk.objects.filter(procedure=_draft(scope, procedure_id), species=species).delete()


@transaction.atomic
def procedure_put_in_use(*, scope: Scope, procedure_id: UUID, note: str, now: datetime | None = None) -> Procedure:
    """From now on makes follow it; it never changes again. Raises ActionError for one without a stage, and for a
    further version without a note of what changed."""
    draft = _draft(scope, procedure_id)
    if not draft.stages.exists():
        raise ActionError("Add at least one stage first.")
    if draft.number > 1 and not note.strip():
        raise ActionError("Say what changed against the version in use, and why.", field="note")
    draft.note = note.strip()
    draft.in_use_from, draft.put_in_use_by = now or timezone.now(), scope.user
    draft.save(update_fields=["note", "in_use_from", "put_in_use_by"])
    ledger.seal(
        log_id=scope.log_id,
        kind="procedure.in_use",
        subject=f"procedure:{draft.id}",
        body=sealing.procedure_body(draft),
        actor=scope.actor,
        at=draft.in_use_from,
    )
    return draft


@transaction.atomic
def draft_discard(*, scope: Scope, procedure_id: UUID) -> None:
    _draft(scope, procedure_id).delete()


def _draft(scope: Scope, procedure_id: UUID) -> Procedure:
    scope.require(Right.EDIT_PROCEDURE)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    found = Procedure.objects.filter(product__premises=scope.premises, pk=procedure_id).first()
    if found is None:
        raise ActionError("There is no such procedure at this dairy.")
    if found.in_use_from is not None:
        raise Conflict("This version is in use and never changes; draft a new one.")
    return found


def _stage(draft: Procedure, stage_id: UUID) -> ProcedureStage:
    stage = draft.stages.filter(pk=stage_id).first()
    if stage is None:
        raise ActionError("There is no such stage in this draft.", field="stage")
    return stage

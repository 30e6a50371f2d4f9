"""How the three cheeses are made: stages, targets and doses of the demo's own, and what is noted on the make sheet."""

from datetime import date, datetime, timedelta
from uuid import UUID

from batches.making import actions as making
from batches.making.actions import ReadingTyped, UseTyped
from batches.making.course import EVENTS
from batches.making.dosing import scaled_doses
from batches.making.models import Make, Procedure, StageKind
from haccp.config.demo.agenda import Act
from haccp.config.demo.dairy import Dairy
from haccp.config.demo.local_days import at, chance
from haccp.lots.kinds import EventKind
from haccp.lots.models import Lot
from haccp.plan.models import Product
from haccp.science.units import from_si

STAGE_OF = {event: stage for stage, event in EVENTS.items()}
K = StageKind
# Stage -> numbers in SI units; doses for 100 L
HARD = {
    K.WARM: {"temperature_low_c": 31.0, "temperature_target_c": 32.0, "temperature_high_c": 33.5},
    K.RENNET: {"temperature_low_c": 31.0, "temperature_target_c": 32.0, "temperature_high_c": 34.0},
    K.PRESS: {"press_kg": 24.0, "lever_advantage": 4.0, "face_diameter_m": 0.22, "cheeses_side_by_side": 1.0},
    K.DRAIN: {"ph_low": 6.2, "ph_high": 6.6},
}
WASHED = {
    K.WARM: {"temperature_low_c": 33.0, "temperature_target_c": 34.0, "temperature_high_c": 36.0},
    K.RENNET: {"temperature_low_c": 33.0, "temperature_target_c": 34.0, "temperature_high_c": 36.0},
}
LACTIC = {K.WARM: {"temperature_low_c": 20.0, "temperature_target_c": 22.0, "temperature_high_c": 24.0}}
TEMPERATURES = {"RE": 32.3, "LC": 22.1, "AS": 34.4}


def add_procedures(dairy: Dairy, eve: date) -> None:
    """In use before the first make."""
    products = dairy.products
    for product, family, numbers, culture in (
        (products.hard, "hard", HARD, "Mesophilic"),
        (products.lactic, "fresh_lactic", LACTIC, "lactic"),
        (products.washed, "washed_rind", WASHED, "Mesophilic"),
    ):
        now = at(eve, 17, 40)
        draft = making.procedure_draft(scope=dairy.staff.maker, product_id=product.pk, family=family, now=now)
        _fill(dairy, draft, numbers, culture, product)
        making.procedure_put_in_use(scope=dairy.staff.maker, procedure_id=draft.pk, note="", now=now)


def _fill(
    dairy: Dairy, draft: Procedure, numbers: dict[StageKind, dict[str, float]], culture: str, product: Product
) -> None:
    for stage in list(draft.stages.all()):
        given = dict(numbers.get(StageKind(stage.kind), {}))
        kept = {"duration_target_s": stage.duration_target_s, "multiplier": stage.multiplier}
        making.stage_put(
            scope=dairy.staff.maker,
            procedure_id=draft.pk,
            stage_id=stage.pk,
            kind=stage.kind,
            name=stage.name,
            numbers={**kept, **given},
        )
        doses = []
        if stage.kind == K.RIPEN:
            doses = [("culture", culture, 1.5, "g")] + ([("rennet", "", 5.0, "mL")] if product.code == "LC" else [])
        if stage.kind == K.RENNET:
            doses = [("rennet", "", 4500.0, "IMCU")]
        for kind, name, amount, unit in doses:
            making.dose_put(
                scope=dairy.staff.maker,
                procedure_id=draft.pk,
                stage_id=stage.pk,
                ingredient_kind=kind,
                name=name,
                amount=amount,
                unit=unit,
            )


def noted(
    dairy: Dairy,
    lot_id: UUID,
    event: str,
    day: date,
    occurred_at: datetime,
    now: datetime,
    *,
    brine_id: UUID | None = None,
) -> bool:
    """Notes on the sheet what an event stands for, with what went in; False where the procedure has no such stage."""
    make = Make.objects.select_related("lot__premises", "lot__product").get(pk=lot_id)
    stage = (
        make.procedure.stages.filter(kind=STAGE_OF[EventKind(event)]).first()
        if make.procedure and event in STAGE_OF
        else None
    )
    if stage is None:
        return False
    milk_l = sum(make.lot.links_in.filter(parent__kind=Lot.Kind.MILK).values_list("amount", flat=True))
    uses = [
        UseTyped(
            dairy.new_id("use", dose.dose.pk, day),
            dose.lots[0].pk,
            f"{from_si(dose.quantity, dose.amount_si, dose.unit):.3g}",
            dose.unit,
            dose.dose.pk,
        )
        for dose in scaled_doses(make.lot.premises, [stage], milk_l, now).get(stage.pk, [])
        if dose.lots and dose.amount_si
    ]
    readings = []
    if stage.kind in (K.RIPEN, K.RENNET) and make.lot.product is not None:
        celsius = TEMPERATURES[make.lot.product.code] + chance("vat", event, day).uniform(-0.4, 0.4)
        readings.append(ReadingTyped("temperature", f"{celsius:.1f}", "°C", dairy.instruments.thermometer.id))
    making.stage_record(
        scope=dairy.staff.maker,
        mark_id=dairy.new_id(event, day),
        make_id=make.pk,
        stage_id=stage.pk,
        what="done",
        at=occurred_at,
        readings=readings,
        uses=uses,
        brine_id=brine_id,
        now=now,
    )
    return True


def sees_flocculation(dairy: Dairy, lot_id: UUID, day: date) -> Act:
    """About a quarter of an hour after the rennet."""

    def see(now: datetime) -> None:
        make = Make.objects.get(pk=lot_id)
        stage = make.procedure.stages.filter(kind=K.FLOCCULATION).first() if make.procedure else None
        if stage is not None:
            making.stage_record(
                scope=dairy.staff.maker,
                mark_id=dairy.new_id("flocculation", day),
                make_id=make.pk,
                stage_id=stage.pk,
                what="done",
                at=now - timedelta(seconds=chance("seen", day).randint(2, 50)),
                now=now,
            )

    return see


def weighs(dairy: Dairy, lot_id: UUID, day: date, kg_per_100_l: float) -> Act:
    """The cheese as it goes into the room, with the composition of the milk from the last report."""

    def weigh(now: datetime) -> None:
        make = Make.objects.get(pk=lot_id)
        milk_l = sum(make.lot.links_in.filter(parent__kind=Lot.Kind.MILK).values_list("amount", flat=True))
        kg = milk_l * kg_per_100_l / 100 * chance("yield", day).uniform(0.96, 1.04)
        making.yield_record(
            scope=dairy.staff.maker,
            yield_id=dairy.new_id("yield", day),
            make_id=make.pk,
            cheese=f"{kg:.2f}",
            cheese_unit="kg",
            weighed_at=now - timedelta(minutes=1),
            fat="6.2" if kg_per_100_l > 16 else "3.9",
            casein="4.3" if kg_per_100_l > 16 else "2.6",
            moisture="41",
            now=now,
        )

    return weigh

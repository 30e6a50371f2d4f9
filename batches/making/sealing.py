"""What the ledger says of makes: made the same way when a row is sealed and when it is verified."""

from batches.making.models import (
    Brine,
    BrineChange,
    BrineUse,
    HeatSheet,
    IngredientUse,
    Make,
    MakeYield,
    PhosphataseResult,
    Procedure,
    ProcedureStage,
    StageMark,
)
from haccp.ledger.sealed_rows import register_rows

Body = dict[str, object]
STAGE_FIELDS = tuple(
    field.attname for field in ProcedureStage._meta.concrete_fields if field.attname not in ("id", "procedure_id")
)


def make_body(make: Make) -> Body:
    return {"vat": make.vat_id, "procedure": make.procedure_id, "note": make.note}


def procedure_body(procedure: Procedure) -> Body:
    """The whole of it: its stages, doses and milks are frozen with it."""
    return {
        "product": procedure.product_id,
        "number": procedure.number,
        "note": procedure.note,
        "from": procedure.in_use_from,
        "by": procedure.put_in_use_by_id,
        "milks": [[milk.species, milk.share_low_percent, milk.share_high_percent] for milk in procedure.milks.all()],
        "stages": [
            {name: getattr(stage, name) for name in STAGE_FIELDS}
            | {
                "doses": [
                    [dose.ingredient_kind, dose.name, dose.amount, dose.unit, dose.per_milk_l]
                    for dose in sorted(
                        stage.doses.all(), key=lambda dose: (dose.ingredient_kind, dose.name, str(dose.pk))
                    )
                ]
            }
            for stage in procedure.stages.all()
        ],
    }


def mark_body(mark: StageMark) -> Body:
    return {
        "make": mark.make_id,
        "stage": mark.stage_id,
        "what": mark.what,
        "at": mark.at,
        "note": mark.note,
        "corrects": mark.corrects_id,
        "reason": mark.reason,
        "recorded": mark.recorded_at,
        "by": mark.recorded_by_id,
        "readings": [
            {
                "what": one.what,
                "value_si": one.value_si,
                "typed": [one.typed_text, one.typed_unit],
                "instrument": one.instrument_id,
                "uncertainty": one.expanded_uncertainty,
                "unfit": one.unfit,
                "ruling": one.ruling,
                "said": one.said,
            }
            for one in sorted(mark.readings.all(), key=lambda one: one.what)
        ],
    }


def use_body(use: IngredientUse) -> Body:
    return {
        "make": use.make_id,
        "link": use.link_id,
        "stage": use.stage_id,
        "dose": use.dose_id,
        "typed": [use.typed_text, use.typed_unit],
        "used": use.used_at,
        "recorded": use.recorded_at,
        "by": use.recorded_by_id,
    }


def yield_body(one: MakeYield) -> Body:
    return {
        "make": one.make_id,
        "cheese_kg": one.cheese_kg,
        "typed": [one.typed_text, one.typed_unit],
        "weighed": one.weighed_at,
        "milk": [one.fat_percent, one.protein_percent, one.casein_percent],
        "moisture": one.moisture_percent,
        "note": one.note,
        "recorded": one.recorded_at,
        "by": one.recorded_by_id,
    }


def heat_body(sheet: HeatSheet) -> Body:
    return {
        "record": sheet.record_id,
        "process": sheet.process,
        "fat": sheet.fat_percent,
        "sweetened": sheet.sweetened,
        "valve": [sheet.cut_in_c, sheet.cut_out_c],
        "tube_s": sheet.holding_tube_s,
        "typed": sheet.typed,
        "thermometer": [sheet.thermometer_id, sheet.thermometer_unfit],
        "air_thermometer": [sheet.air_thermometer_id, sheet.air_thermometer_unfit],
        "thermometers": [
            [one.at, one.indicating_c, one.air_space_c, one.typed] for one in sheet.thermometers.order_by("at", "pk")
        ],
        "diversions": [[one.began_at, one.ended_at] for one in sheet.diversions.order_by("began_at", "pk")],
        "note": sheet.note,
        "recorded": sheet.recorded_at,
        "by": sheet.recorded_by_id,
    }


def phosphatase_body(one: PhosphataseResult) -> Body:
    return {
        "make": one.make_id,
        "activity": one.activity_mu_per_l,
        "typed": one.typed_text,
        "sampled": one.sampled_at,
        "laboratory": one.laboratory,
        "recorded": one.recorded_at,
        "by": one.recorded_by_id,
    }


def brine_body(one: Brine) -> Body:
    return {"tank": one.tank_id, "water": one.water}


def brine_change_body(one: BrineChange) -> Body:
    return {
        "brine": one.brine_id,
        "what": one.what,
        "water_l": one.water_l,
        "typed_water": [one.typed_water, one.water_unit],
        "salt": one.salt_id,
        "typed_salt": [one.typed_salt, one.salt_unit],
        "note": one.note,
        "at": one.at,
        "recorded": one.recorded_at,
        "by": one.recorded_by_id,
    }


def brine_use_body(one: BrineUse) -> Body:
    return {
        "brine": one.brine_id,
        "make": one.make_id,
        "link": one.link_id,
        "at": one.laid_in_at,
        "recorded": one.recorded_at,
        "by": one.recorded_by_id,
    }


def register() -> None:
    of_make = "make__lot__premises__log__key"
    register_rows(
        "make.started", prefix="make", rows=Make.objects.all, body=make_body, log_key="lot__premises__log__key"
    )
    register_rows(
        "procedure.in_use",
        prefix="procedure",
        rows=lambda: Procedure.objects.filter(in_use_from__isnull=False).prefetch_related("milks", "stages__doses"),
        body=procedure_body,
        log_key="product__premises__log__key",
    )
    register_rows(
        "make.stage",
        prefix="stage_mark",
        rows=lambda: StageMark.objects.prefetch_related("readings"),
        body=mark_body,
        log_key=of_make,
    )
    register_rows("make.ingredient", prefix="use", rows=IngredientUse.objects.all, body=use_body, log_key=of_make)
    register_rows("make.yield", prefix="yield", rows=MakeYield.objects.all, body=yield_body, log_key=of_make)
    register_rows(
        "make.heat",
        prefix="heat_sheet",
        rows=HeatSheet.objects.all,
        body=heat_body,
        log_key="record__premises__log__key",
    )
    register_rows(
        "make.phosphatase",
        prefix="phosphatase",
        rows=PhosphataseResult.objects.all,
        body=phosphatase_body,
        log_key=of_make,
    )
    register_rows(
        "brine.made_up", prefix="brine", rows=Brine.objects.all, body=brine_body, log_key="lot__premises__log__key"
    )
    register_rows(
        "brine.changed",
        prefix="brine_change",
        rows=BrineChange.objects.all,
        body=brine_change_body,
        log_key="brine__lot__premises__log__key",
    )
    register_rows("brine.used", prefix="brine_use", rows=BrineUse.objects.all, body=brine_use_body, log_key=of_make)

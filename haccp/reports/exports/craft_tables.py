"""What verifies and what is kept beside the checks: calibrations, samples, swabs, counts of milk, ingredients, brines,
weighings."""

from collections.abc import Iterator

from batches.hygiene.models import Swab
from batches.intake.models import IngredientLot, MilkCount
from batches.laboratory.models import SampleTest, newest
from batches.laboratory.queries import name_of
from batches.making.models import BrineChange
from batches.ripening.models import Weighing
from haccp.calibration.models import Calibration
from haccp.premises.models import Premises
from haccp.reports.exports.table import Column, Days, Table, Value, columns
from haccp.science.units import quantity_of
from haccp.training.models import Training

SEALED = "sealed in the ledger"


def _calibrations(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    found = Calibration.objects.filter(premises=premises, performed_at__gte=days.start, performed_at__lt=days.end)
    for one in found.select_related("instrument", "recorded_by").order_by("performed_at", "id"):
        yield (
            str(one.pk),
            one.instrument.name,
            one.instrument.serial,
            str(one.get_method_display()),
            one.performed_at,
            one.tolerance,
            one.expanded_uncertainty,
            quantity_of(one.quantity).si_unit,
            one.found_ruling,
            one.found_reason,
            one.left_ruling,
            one.left_reason,
            one.valid_until,
            one.reference,
            one.note,
            one.recorded_by.name,
        )


def _samples(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    """One row for each test, with its last result."""
    found = SampleTest.objects.filter(
        sample__premises=premises, sample__taken_at__gte=days.start, sample__taken_at__lt=days.end
    ).select_related("sample__lot", "sample__place", "sample__verifies", "sample__recorded_by")
    ordered = found.prefetch_related("results").order_by("sample__taken_at", "sample__code", "position")
    for one in ordered:
        result, sample = newest(list(one.results.all())), one.sample
        yield (
            sample.code,
            sample.of,
            sample.spot,
            sample.taken_at,
            sample.laboratory,
            sample.verifies.code,
            name_of(one.kind, one.parameter),
            one.n,
            one.c,
            one.m,
            one.largest,
            one.unit,
            one.absent_in,
            one.source,
            "; ".join(str(value) for value in result.values) if result else "",
            result.unit if result else "",
            result.ruling if result else "",
            result.reason if result else "awaited",
            result.reported_at if result else None,
            result.report_number if result else "",
            sample.recorded_by.name,
        )


def _swabs(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    found = Swab.objects.filter(point__place__premises=premises, taken_at__gte=days.start, taken_at__lt=days.end)
    rows = found.select_related("point__place", "recorded_by").prefetch_related("results__deviation")
    for one in rows.order_by("taken_at", "code", "id"):
        result = one.result
        yield (
            one.code,
            one.point.place.name,
            one.point.name,
            one.point.zone,
            one.taken_at,
            str(result.get_found_display()) if result else "awaited",
            result.laboratory if result else "",
            result.report if result else "",
            result.reported_on if result else None,
            result.deviation.reference if result and result.deviation else "",
            one.recorded_by.name,
        )


def _counts(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    found = MilkCount.objects.filter(premises=premises, sampled_on__gte=days.first, sampled_on__lte=days.last)
    for one in found.select_related("supplier", "recorded_by").order_by("sampled_on", "supplier__name", "id"):
        yield (
            str(one.pk),
            one.sampled_on,
            one.supplier.name,
            str(one.get_species_display()),
            str(one.get_quantity_display()),
            one.typed_text,
            one.typed_unit,
            one.value,
            "yes" if one.is_below else "no",
            one.laboratory,
            str(one.corrects_id or ""),
            one.note,
            one.recorded_by.name,
        )


def _ingredients(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    found = IngredientLot.objects.filter(
        lot__premises=premises, lot__begun_at__gte=days.start, lot__begun_at__lt=days.end
    ).select_related("lot__recorded_by", "supplier")
    for one in found.order_by("lot__begun_at", "lot__code"):
        yield (
            one.lot.code,
            str(one.get_kind_display()),
            one.name,
            one.supplier.name if one.supplier else "",
            one.supplier_lot,
            one.lot.begun_at,
            one.expires_on,
            one.typed_amount,
            one.typed_unit,
            one.amount_si,
            str(one.get_quantity_display()),
            one.strength,
            one.strength_unit,
            one.note,
            one.lot.recorded_by.name,
        )


def _brines(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    found = BrineChange.objects.filter(brine__lot__premises=premises, at__gte=days.start, at__lt=days.end)
    rows = found.select_related("brine__lot", "brine__tank", "salt__parent", "recorded_by")
    for one in rows.order_by("at", "recorded_at", "id"):
        yield (
            one.brine.lot.code,
            one.brine.tank.name,
            one.at,
            str(one.get_what_display()),
            one.typed_water,
            one.water_unit,
            one.water_l or None,
            one.typed_salt,
            one.salt_unit,
            one.salt.parent.code if one.salt else "",
            one.note,
            one.recorded_by.name,
        )


def _weighings(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    found = Weighing.objects.filter(lot__premises=premises, weighed_at__gte=days.start, weighed_at__lt=days.end)
    rows = found.select_related("lot__product", "instrument", "recorded_by")
    for one in rows.order_by("weighed_at", "lot__code", "id"):
        yield (
            one.lot.code,
            one.lot.product.name if one.lot.product else "",
            one.weighed_at,
            one.pieces,
            one.typed_mass,
            one.typed_unit,
            one.mass_kg,
            one.instrument.name if one.instrument else "",
            one.recorded_by.name,
        )


def _trainings(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    found = Training.objects.filter(premises=premises, given_on__gte=days.first, given_on__lte=days.last)
    for one in found.select_related("person", "recorded_by").order_by("given_on", "recorded_at", "id"):
        yield (
            one.person.name,
            one.subject,
            one.given_by,
            one.given_on,
            one.valid_until,
            one.note,
            one.recorded_at,
            one.recorded_by.name,
        )


CRAFT_TABLES = (
    Table(
        "trainings",
        "Training given",
        (
            *columns("Who", "In what", "By whom", "Given on", "Counts until", "Note"),
            Column("Received", source="the service's clock"),
            Column("Recorded by"),
        ),
        _trainings,
    ),
    Table(
        "calibrations",
        "Calibrations",
        (
            Column("Calibration", source=SEALED),
            *columns("Instrument", "Serial", "Method", "Performed"),
            Column("Largest error allowed", "SI"),
            Column("Expanded uncertainty, k = 2", "SI", "worked out from what was compared"),
            Column("SI unit", source="what the instrument measures"),
            *columns("As found", "Why (as found)", "As left", "Why (as left)", source="judged on entry"),
            *columns("Valid until", "Reference", "Note", "Recorded by"),
        ),
        _calibrations,
    ),
    Table(
        "samples",
        "Laboratory samples and results",
        (
            *columns("Sample", "Of", "Spot", "Taken", "Laboratory"),
            Column("Verifies", source="plan"),
            *columns("Test", "n", "c", "m", "M", "Unit", "Absent in", "Source", source="sampling plan"),
            *columns("Result", "Unit of the result"),
            *columns("Ruling", "Reason", source="judged on entry"),
            *columns("Reported", "Report number", "Recorded by"),
        ),
        _samples,
    ),
    Table(
        "swabs",
        "Swabs",
        columns(
            "Swab",
            "Place",
            "Point",
            "Zone",
            "Taken",
            "Found",
            "Laboratory",
            "Report number",
            "Reported",
            "Deviation",
            "Recorded by",
        ),
        _swabs,
    ),
    Table(
        "counts",
        "Counts of the milk",
        (
            Column("Count", source=SEALED),
            *columns("Sampled", "Supplier", "Species", "Of what", "As typed", "Unit as typed"),
            Column("Value", "per mL", "converted from what was typed"),
            *columns("Below what the method finds", "Laboratory", "Corrects", "Note", "Recorded by"),
        ),
        _counts,
    ),
    Table(
        "ingredients",
        "Ingredient lots",
        (
            *columns("Lot", "Kind", "Name", "Supplier", "Supplier's lot", "Received", "Expires"),
            *columns("Amount as typed", "Unit as typed"),
            Column("Amount", "SI", "converted from what was typed"),
            *columns("Counted by", "Strength", "Unit of the strength", "Note", "Recorded by"),
        ),
        _ingredients,
    ),
    Table(
        "brines",
        "Changes of brines",
        (
            *columns("Brine", "Tank", "At", "What", "Water as typed", "Unit of the water"),
            Column("Water", "L", "converted from what was typed"),
            *columns("Salt as typed", "Unit of the salt", "Lot of the salt", "Note", "Recorded by"),
        ),
        _brines,
    ),
    Table(
        "weighings",
        "Weights of ripening cheese",
        (
            *columns("Batch", "Product", "Weighed"),
            Column("On the scale", "pieces"),
            *columns("Weight as typed", "Unit as typed"),
            Column("Weight", "kg", "converted from what was typed"),
            *columns("Instrument", "Recorded by"),
        ),
        _weighings,
    ),
)

"""The tables that there are, each with how its rows are read."""

from collections.abc import Iterator
from uuid import UUID

from django.db.models import Prefetch

from batches.intake.models import MilkLot
from haccp.checks.models import DueCheck, Reading, Record, RulingRow
from haccp.deviations.models import Deviation
from haccp.lots.models import Lot, LotEvent, LotLink
from haccp.plan.models import CriticalLimit, Hazard, PlanRevision
from haccp.premises.models import Instrument, Place, Premises
from haccp.reports.exports.craft_tables import CRAFT_TABLES
from haccp.reports.exports.table import Column, Days, Table, Value, columns
from haccp.reports.exports.trade_tables import TRADE_TABLES
from haccp.science.units import quantity_of

ROWS_PER_QUERY = 500
SEALED = "sealed in the ledger"


def _records(premises: Premises, days: Days, only: dict[str, object] | None = None) -> Iterator[tuple[Value, ...]]:
    """One row for each reading, and one for a record without any."""
    found = (
        Record.objects.filter(premises=premises, observed_at__gte=days.start, observed_at__lt=days.end, **(only or {}))
        .select_related("check_done__control_point", "lot", "place", "instrument", "recorded_by")
        .defer("trace_roles")
        .prefetch_related(
            Prefetch("readings", queryset=Reading.objects.select_related("measure")),
            "readings__measure__limits",
            Prefetch("rulings", queryset=RulingRow.objects.select_related("limit")),
        )
        .order_by("observed_at", "id")
    )
    for record in found.iterator(chunk_size=ROWS_PER_QUERY):
        head: tuple[Value, ...] = (
            str(record.id),
            record.observed_at,
            record.recorded_at,
            record.check_done.control_point.code,
            record.check_done.name,
            record.lot.code if record.lot else "",
            record.place.name if record.place else "",
        )
        tail: tuple[Value, ...] = (
            record.instrument.name if record.instrument else "",
            record.expanded_uncertainty if record.instrument_id else None,
            record.recorded_by.name,
            record.note,
            str(record.amends_id or ""),
            record.amend_reason,
        )
        readings: list[Reading | None] = [*record.readings.all()]
        for reading in readings or [None]:
            yield (*head, *_reading(reading, list(record.rulings.all())), *tail)


def _reading(reading: Reading | None, rulings: list[RulingRow]) -> tuple[Value, ...]:
    if reading is None:
        mine = rulings
        values: tuple[Value, ...] = ("", "", "", None, "")
    else:
        limits = {limit.id for limit in reading.measure.limits.all()}
        mine = [row for row in rulings if row.limit_id in limits]
        si = quantity_of(reading.measure.quantity).si_unit if reading.value_si is not None else ""
        typed = reading.typed_text or reading.choice
        values = (reading.measure.label, typed, reading.typed_unit, reading.value_si, si)
    return (
        *values,
        "; ".join(row.limit.statement for row in mine),
        "; ".join(row.ruling for row in mine),
        "; ".join(row.reason for row in mine),
    )


RECORD_COLUMNS = (
    Column("Record", source=SEALED),
    Column("Observed", source="as entered"),
    Column("Received", source="the service's clock"),
    Column("Control point", source="plan"),
    Column("Check", source="plan"),
    Column("Lot"),
    Column("Place"),
    Column("Measure", source="plan"),
    Column("As typed"),
    Column("Unit as typed"),
    Column("Value", source="converted from what was typed"),
    Column("Unit of value", source="SI"),
    Column("Limit", source="plan revision that the record was judged by"),
    Column("Ruling", source="judged on entry"),
    Column("Reason", source="judged on entry"),
    Column("Instrument"),
    Column("Expanded uncertainty, k = 2", "unit of what is measured", "calibration of that day"),
    Column("Recorded by"),
    Column("Note"),
    Column("Amends record"),
    Column("Reason of the amendment"),
)


def _climate(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    rooms = (Place.Kind.RIPENING_ROOM, Place.Kind.COLD_STORE, Place.Kind.MILK_STORE)
    return _records(premises, days, {"place__kind__in": rooms, "lot__isnull": True})


def _checks(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    """Every check that fell due, done, missed or still open: the day book as rows."""
    found = (
        DueCheck.objects.filter(premises=premises, due_at__gte=days.start, due_at__lt=days.end)
        .select_related("check_due__control_point", "check_due__place", "lot", "missed__reason__given_by")
        .prefetch_related(Prefetch("records", queryset=Record.objects.filter(amends__isnull=True)))
        .order_by("due_at", "id")
    )
    for due in found.iterator(chunk_size=ROWS_PER_QUERY):
        done = next(iter(due.records.all()), None)
        missed = getattr(due, "missed", None)
        reason = getattr(missed, "reason", None) if missed else None
        yield (
            due.due_at,
            due.check_due.control_point.code,
            due.check_due.name,
            due.lot.code if due.lot else "",
            due.check_due.place.name if due.check_due.place else "",
            "done" if done else "missed" if missed else "open",
            str(done.id) if done else "",
            done.observed_at if done else None,
            reason.text if reason else "",
            reason.given_by.name if reason else "",
        )


def _deviations(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    found = (
        Deviation.objects.filter(premises=premises, occurred_at__gte=days.start, occurred_at__lt=days.end)
        .select_related("control_point", "opened_by", "closure__signature")
        .prefetch_related("implicated__lot", "steps__lot")
        .order_by("year", "number")
    )
    for one in found.iterator(chunk_size=ROWS_PER_QUERY):
        closure = getattr(one, "closure", None)
        steps = sorted(one.steps.all(), key=lambda step: step.recorded_at)
        yield (
            one.reference,
            one.occurred_at,
            one.opened_at,
            one.opened_by.name if one.opened_by else "the schedule",
            one.control_point.code,
            one.get_cause_display(),
            one.summary,
            ", ".join(link.lot.code for link in one.implicated.all()),
            "\n".join(f"{step.get_kind_display()}: {step.text}" for step in steps),
            ", ".join(f"{step.lot.code}: {step.get_disposition_display()}" for step in steps if step.lot),
            closure.closed_at if closure else None,
            closure.signature.printed_name if closure else "",
        )


def _batches(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    """Each link of a batch with what went into it: sortable, so that a lot is found whichever way it is asked for."""
    found = (
        Lot.objects.filter(premises=premises, kind=Lot.Kind.BATCH, begun_at__gte=days.start, begun_at__lt=days.end)
        .select_related("product", "recorded_by")
        .with_hold()
        .prefetch_related(Prefetch("links_in", queryset=LotLink.objects.select_related("parent")))
        .order_by("begun_at", "code")
    )
    for lot in found.iterator(chunk_size=ROWS_PER_QUERY):
        links: list[LotLink | None] = [*lot.links_in.all()]
        for link in links or [None]:
            yield (
                lot.code,
                lot.product.code if lot.product else "",
                lot.product.name if lot.product else "",
                lot.begun_at,
                link.parent.code if link else "",
                link.parent.get_kind_display() if link else "",
                link.amount if link else None,
                link.unit if link else "",
                "on hold" if getattr(lot, "is_held", False) else "",
                lot.recorded_by.name,
            )


def _milk(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    found = MilkLot.objects.filter(lot__premises=premises, lot__begun_at__gte=days.start, lot__begun_at__lt=days.end)
    for milk in found.select_related("lot__recorded_by").order_by("lot__begun_at", "lot__code"):
        lot = milk.lot
        yield (
            lot.code,
            lot.begun_at,
            milk.get_species_display(),
            milk.source,
            milk.typed_volume,
            milk.typed_unit,
            milk.volume_l,
            lot.recorded_by.name,
        )


def _events(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    found = LotEvent.objects.filter(lot__premises=premises, occurred_at__gte=days.start, occurred_at__lt=days.end)
    ordered = found.select_related("lot__product", "place", "recorded_by").order_by("occurred_at", "recorded_at", "id")
    for event in ordered.iterator(chunk_size=ROWS_PER_QUERY):
        yield (
            event.lot.code,
            event.lot.product.name if event.lot.product else "",
            event.occurred_at,
            event.recorded_at,
            event.kind.replace("_", " "),
            event.place.name if event.place else "",
            event.note,
            event.recorded_by.name,
        )


def _instruments(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    for one in Instrument.objects.filter(premises=premises).select_related("place").order_by("name", "id"):
        yield (
            one.name,
            one.get_kind_display(),
            one.serial,
            one.place.name if one.place else "",
            one.expanded_uncertainty,
            one.calibrated_on,
            one.calibration_valid_until,
            one.unfit_on(days.last) or "",
        )


def _revision(premises: Premises, days: Days) -> UUID | None:
    """In force at the end of the days."""
    found = PlanRevision.objects.filter(premises=premises, effective_from__lt=days.end).approved()
    revision = found.order_by("-effective_from", "-number").first()
    return revision.id if revision else None


def _limits(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    found = CriticalLimit.objects.filter(control_point__revision=_revision(premises, days))
    rows = found.select_related("control_point__revision", "control_point__step").prefetch_related("products")
    for one in rows.order_by("control_point__code", "statement", "id"):
        point = one.control_point
        yield (
            point.revision.number,
            point.code,
            point.name,
            point.step.name if point.step else "",
            one.statement,
            one.low,
            one.high,
            quantity_of(one.quantity).si_unit if one.quantity else "",
            ", ".join(product.name for product in one.products.all()) or "all",
            point.corrective_action,
            " ".join(part for part in (one.source_document, one.source_clause) if part),
        )


def _hazards(premises: Premises, days: Days) -> Iterator[tuple[Value, ...]]:
    found = Hazard.objects.filter(revision=_revision(premises, days)).select_related("step", "revision")
    for one in found.prefetch_related("control_points").order_by("step__position", "name", "id"):
        yield (
            one.revision.number,
            one.step.name,
            one.get_kind_display(),
            one.name,
            one.likelihood,
            one.severity,
            "yes" if one.significant else "no",
            one.justification,
            one.control_measure,
            ", ".join(point.code for point in one.control_points.all()),
        )


TABLES = {
    table.name: table
    for table in (
        Table("records", "Records", RECORD_COLUMNS, _records),
        Table(
            "checks",
            "Checks that fell due",
            (
                *columns("Due", "Control point", "Check", "Lot", "Place", source="plan and its cadence"),
                Column("State", source="record or missed check that answers it"),
                Column("Record", source=SEALED),
                *columns("Observed", "Why missed", "Reason given by"),
            ),
            _checks,
        ),
        Table(
            "deviations",
            "Deviations",
            (
                Column("Deviation", source=SEALED),
                *columns("Occurred", "Opened", "Opened by", "Control point", "Because of", "What happened"),
                Column("Lots implicated", source="traced when it was opened"),
                *columns("Steps", "Dispositions", "Closed", "Closed by"),
            ),
            _deviations,
        ),
        Table(
            "batches",
            "Batches and what went in",
            (
                *columns("Batch", "Product code", "Product", "Begun", "Made of lot", "Kind of lot", "Amount", "Unit"),
                Column("Hold", source="holds that stand when this was made"),
                *columns("Recorded by"),
            ),
            _batches,
        ),
        Table(
            "milk",
            "Milk lots",
            (
                *columns("Lot", "Received", "Species", "Source", "Volume as typed", "Unit as typed"),
                Column("Volume", "L", "converted from what was typed"),
                *columns("Recorded by"),
            ),
            _milk,
        ),
        Table(
            "events",
            "What happened to lots",
            columns("Lot", "Product", "Occurred", "Entered", "What", "Place", "Note", "Recorded by"),
            _events,
        ),
        Table("climate", "Climate of the rooms", RECORD_COLUMNS, _climate),
        Table(
            "instruments",
            "Instruments",
            (
                *columns("Instrument", "Kind", "Serial", "Place"),
                Column("Expanded uncertainty, k = 2", "unit of what is measured", "calibration"),
                *columns("Calibrated", "Valid until", source="calibration"),
                Column("Why it cannot be relied on", source="on the last of the days"),
            ),
            _instruments,
        ),
        Table(
            "limits",
            "Critical limits",
            (
                *columns("Revision", "Code", "Control point", "Step", "Limit", source="plan"),
                Column("Lowest allowed", "SI", "plan"),
                Column("Highest allowed", "SI", "plan"),
                *columns("SI unit", "Products", "Corrective action", "Published source", source="plan"),
            ),
            _limits,
        ),
        Table(
            "hazards",
            "Hazard worksheet",
            columns(
                "Revision",
                "Step",
                "Kind",
                "Hazard",
                "Likelihood",
                "Severity",
                "Significant",
                "Why",
                "Control measure",
                "Control points",
                source="plan",
            ),
            _hazards,
        ),
        *TRADE_TABLES,
        *CRAFT_TABLES,
    )
}

"""A check that was done: its record, readings and rulings, and what follows from them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TypeVar
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import Model, QuerySet
from django.utils import timezone

from haccp.checks import codes, consequences, sealing
from haccp.checks.actions.missed import flag_past_grace
from haccp.checks.judging import Case, Value, judge_case, recorder_values
from haccp.checks.models import DueCheck, PhotoFile, Reading, Record, RulingRow, TraceFile
from haccp.checks.reliability import fitness
from haccp.checks.reviewing import days_changed
from haccp.ledger import actions as ledger
from haccp.lots.models import Lot
from haccp.lots.subjects import SUBJECT_OF_KIND
from haccp.plan.document.own_review import CADENCE
from haccp.plan.models import Check, Measure
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Instrument, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science import evaluators
from haccp.science.errors import InputError
from haccp.science.units import Typed, read_typed

Row = TypeVar("Row", bound=Model)
CLOCK_TOLERANCE = timedelta(minutes=2)
BEFORE_THE_LOT = timedelta(hours=24)
LONGEST_NUMBER = 80  # Reading.typed_text


@dataclass(frozen=True, slots=True)
class EntryTyped:
    """What was typed for one measure; unit is empty for answers and texts. Of a photograph: its id."""

    text: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Saved:
    """created is False when the same record had been sent before."""

    record: Record
    rulings: tuple[RulingRow, ...]
    created: bool


@dataclass(slots=True)
class _Draft:
    """What a record will be, looked up and read, before anything is written."""

    check: Check
    lot: Lot | None
    due: DueCheck | None
    instrument: Instrument | None
    trace: TraceFile | None
    typed: dict[UUID, Typed] = field(default_factory=dict)
    choices: dict[UUID, str] = field(default_factory=dict)
    photos: dict[UUID, PhotoFile] = field(default_factory=dict)

    def numbers(self) -> dict[str, list[float]]:
        """Quantity -> the values read of it."""
        quantities = {measure.id: measure.quantity for measure in self.check.measures.all()}
        found: dict[str, list[float]] = {}
        for measure_id, typed in self.typed.items():
            found.setdefault(quantities[measure_id], []).append(typed.value_si)
        return found


@transaction.atomic
def record_save(
    *,
    scope: Scope,
    record_id: UUID,
    check_id: UUID,
    entries: Mapping[UUID, EntryTyped],
    observed_at: datetime,
    due_id: UUID | None = None,
    lot_id: UUID | None = None,
    instrument_id: UUID | None = None,
    trace_id: UUID | None = None,
    trace_roles: Mapping[str, str] | None = None,
    note: str = "",
    device_at: datetime | None = None,
    now: datetime | None = None,
) -> Saved:
    """Saves one check that was done.

    Moves: lock the premises; give back the record already there under record_id; look everything up within the
    premises; read each typed value; judge every limit; write record, readings, rulings; settle the due check; seal;
    let the consequences follow (deviation, holds).
    entries: measure id -> what was typed. Raises ActionError with one sentence per field ("measure-<id>",
    "instrument", "observed_at", ...), Conflict when somebody has done this check or the id carries other content.
    """
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()  # behind the lock, so that times of recording follow the order of recording
    there = Record.objects.filter(id=record_id).first()
    if there is not None:
        about: dict[str, object] = {
            "due_id": due_id,
            "lot_id": lot_id,
            "instrument_id": instrument_id,
            "trace_id": trace_id,
            "note": note.strip(),
        }
        return _already(scope, there, check_id, entries, observed_at, about)
    if due_id is not None:
        flag_past_grace(DueCheck.objects.for_premises(scope.premises).filter(pk=due_id), now)
    draft = _look_up(
        scope, check_id=check_id, due_id=due_id, lot_id=lot_id, instrument_id=instrument_id, trace_id=trace_id
    )
    _refuse_review(draft.check)
    _refuse_unknown_channels(draft.trace, trace_roles or {})
    _read(draft, entries, observed_at, now)
    record = Record(
        id=record_id,
        premises=scope.premises,
        check_done=draft.check,
        revision_id=draft.check.revision_id,
        due=draft.due,
        lot=draft.lot,
        place_id=draft.check.place_id,
        instrument=draft.instrument,
        trace=draft.trace,
        trace_roles=dict(trace_roles or (draft.trace.roles if draft.trace else {})),
        observed_at=observed_at,
        recorded_at=now,
        device_at=device_at,
        recorded_by=scope.user,
        note=note.strip(),
    )
    _settle(draft.due, now)
    return _write(scope, record, draft, now)


@transaction.atomic
def record_of_review(
    *,
    scope: Scope,
    record_id: UUID,
    check_id: UUID,
    entries: Mapping[UUID, EntryTyped],
    observed_at: datetime,
    due_id: UUID | None,
    now: datetime,
) -> Saved:
    """The record of a review that was signed; as record_save, of the one check that record_save refuses."""
    draft = _look_up(scope, check_id=check_id, due_id=due_id, lot_id=None, instrument_id=None, trace_id=None)
    _read(draft, entries, observed_at, now)
    record = Record(
        id=record_id,
        premises=scope.premises,
        check_done=draft.check,
        revision_id=draft.check.revision_id,
        due=draft.due,
        place_id=draft.check.place_id,
        observed_at=observed_at,
        recorded_at=now,
        recorded_by=scope.user,
    )
    _settle(draft.due, now)
    return _write(scope, record, draft, now)


@transaction.atomic
def record_amend(
    *,
    scope: Scope,
    record_id: UUID,
    amends_id: UUID,
    entries: Mapping[UUID, EntryTyped],
    observed_at: datetime,
    reason: str,
    instrument_id: UUID | None = None,
    note: str = "",
    device_at: datetime | None = None,
    now: datetime | None = None,
) -> Saved:
    """Adds an amended version of a record; the original stays, and both are shown with the reason.

    Raises ActionError without a reason, Conflict when the record was amended already (amend the amendment).
    """
    scope.require(Right.RECORD)
    if not reason.strip():
        raise ActionError("Say why the record is amended; the reason is shown beside it.", field="reason")
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    original = Record.objects.for_premises(scope.premises).filter(id=amends_id).first()
    if original is None:
        raise ActionError("There is no such record at this dairy.", field="amends")
    there = Record.objects.filter(id=record_id).first()
    if there is not None:
        about: dict[str, object] = {
            "instrument_id": instrument_id,
            "amends_id": amends_id,
            "amend_reason": reason.strip(),
            "note": note.strip(),
        }
        return _already(scope, there, original.check_done_id, entries, observed_at, about)
    _refuse_review(original.check_done)
    if Record.objects.filter(amends=original).exists():
        raise Conflict("This record was amended meanwhile; open its latest version and amend that.")
    draft = _look_up(
        scope,
        check_id=original.check_done_id,
        due_id=None,
        lot_id=original.lot_id,
        instrument_id=instrument_id or original.instrument_id,
        trace_id=original.trace_id,
    )
    _read(draft, entries, observed_at, now)
    amended = Record(
        id=record_id,
        premises=scope.premises,
        check_done=draft.check,
        revision_id=original.revision_id,
        due_id=original.due_id,
        lot=draft.lot,
        place_id=original.place_id,
        instrument=draft.instrument,
        trace=draft.trace,
        trace_roles=original.trace_roles,
        observed_at=observed_at,
        recorded_at=now,
        device_at=device_at,
        recorded_by=scope.user,
        note=note.strip(),
        amends=original,
        amend_reason=reason.strip(),
    )
    return _write(scope, amended, draft, now)


def _already(
    scope: Scope,
    there: Record,
    check_id: UUID,
    entries: Mapping[UUID, EntryTyped],
    observed_at: datetime,
    about: Mapping[str, object],
) -> Saved:
    """about: attribute of the record -> what was sent for it; an id that was left out is not compared."""
    # A unit left out is the measure's own, as when it was saved.
    unit_of = dict(Measure.objects.filter(id__in=entries, kind=Measure.Kind.NUMBER).values_list("id", "unit"))
    sent = {
        str(measure): (entry.text.strip(), entry.unit or unit_of.get(measure, ""))
        for measure, entry in entries.items()
        if entry.text.strip()
    }
    kept = {
        str(reading.measure_id): (
            str(reading.photo_id) if reading.photo_id else reading.typed_text or reading.choice,
            reading.typed_unit,
        )
        for reading in there.readings.all()
    }
    same = there.premises_id == scope.premises.id and there.check_done_id == check_id
    same = same and all(value is None or getattr(there, name) == value for name, value in about.items())
    if not same or there.observed_at != observed_at or sent != kept:
        raise Conflict("This record was already sent with other content; open it and amend it instead.")
    return Saved(there, tuple(there.rulings.all()), created=False)


def _look_up(
    scope: Scope,
    *,
    check_id: UUID,
    due_id: UUID | None,
    lot_id: UUID | None,
    instrument_id: UUID | None,
    trace_id: UUID | None,
) -> _Draft:
    """Everything by id within the premises, whatever a form posted by hand may say."""
    premises = scope.premises
    check = (
        Check.objects.filter(id=check_id, revision__premises=premises, revision__approval__isnull=False)
        .select_related("control_point", "revision")
        .prefetch_related("measures")
        .first()
    )
    if check is None:
        raise ActionError("There is no such check in this dairy's plan.", field="check")
    due = _due(premises, check, due_id)
    lot = _found(Lot.objects.for_premises(premises).select_related("product", "revision"), lot_id, "lot", "lot")
    lot = _lot_of(check, due, lot)
    instrument = _found(Instrument.objects.filter(premises=premises), instrument_id, "instrument", "instrument")
    if check.instrument_kind and instrument is None:
        raise ActionError("Choose the instrument that you measured with.", field="instrument")
    trace = _found(TraceFile.objects.filter(premises=premises), trace_id, "recorder file", "trace")
    if trace is not None and lot is not None and trace.lot_id not in (None, lot.id):
        raise ActionError(
            f"This recorder file was brought in for another lot; bring it in for {lot.code}.", field="trace"
        )
    return _Draft(check=check, lot=lot, due=due, instrument=instrument, trace=trace)


def _lot_of(check: Check, due: DueCheck | None, lot: Lot | None) -> Lot | None:
    """The lot that the record is about: the due check's own, or the one named."""
    if due is not None and due.lot is not None:
        if lot is not None and lot.pk != due.lot_id:
            raise ActionError(f"This check is due for {due.lot.code}, not for {lot.code}.", field="lot")
        lot = due.lot
    if check.subject in SUBJECT_OF_KIND.values():
        if lot is None:
            raise ActionError("This check is about a lot; open it from the lot's page.", field="lot")
        if SUBJECT_OF_KIND.get(Lot.Kind(lot.kind)) != check.subject:
            raise ActionError(
                f"{check.name} is for {check.get_subject_display()}; {lot.code} is a {lot.get_kind_display()}.",
                field="lot",
            )
    return lot


def _refuse_review(check: Check) -> None:
    if check.cadence.get("kind") == CADENCE["kind"]:
        raise ActionError("A review of the plan is signed: record it on the page of the plan's review.")


def _refuse_unknown_channels(trace: TraceFile | None, roles: Mapping[str, str]) -> None:
    unknown = sorted(set(roles) - set(trace.roles if trace else ()))
    if unknown:
        raise ActionError(
            f"The recorder's file has no channel named “{unknown[0]}”; name those that were read out of it.",
            field="trace_roles",
        )


def _found(rows: QuerySet[Row], row_id: UUID | None, what: str, key: str) -> Row | None:
    if row_id is None:
        return None
    row = rows.filter(pk=row_id).first()
    if row is None:
        raise ActionError(f"There is no such {what} at this dairy; choose one from the list.", field=key)
    return row


def _due(premises: Premises, check: Check, due_id: UUID | None) -> DueCheck | None:
    if due_id is None:
        return None
    due = DueCheck.objects.for_premises(premises).filter(id=due_id, check_due=check).select_related("lot").first()
    if due is None:
        raise ActionError("That check is no longer due; go back to today's rounds.", field="due")
    done = due.records.filter(amends__isnull=True).select_related("recorded_by").first() or due.answered_by
    if done is not None:
        raise Conflict(
            f"{done.recorded_by.name} has already done this check. Open that record to amend it, "
            "or record yours as an extra check."
        )
    return due


def _read(draft: _Draft, entries: Mapping[UUID, EntryTyped], observed_at: datetime, now: datetime) -> None:
    """Reads every entry; all that cannot be used is said at once, each beside its field."""
    wrong: dict[str, str] = {}
    for measure in draft.check.measures.all():
        entry = entries.get(measure.id, EntryTyped(""))
        sentence = _read_one(draft, measure, entry)
        if sentence:
            wrong[f"measure-{measure.id}"] = sentence
    known = {measure.id for measure in draft.check.measures.all()}
    if any(entry.text.strip() for measure, entry in entries.items() if measure not in known):
        wrong["entries"] = f"One entry is for something that {draft.check.name} does not ask; open the check again."
    if observed_at > now + CLOCK_TOLERANCE:
        wrong["observed_at"] = "That time is in the future; correct the time."
    elif draft.lot is not None and observed_at < draft.lot.begun_at - BEFORE_THE_LOT:
        wrong["observed_at"] = f"That is more than a day before {draft.lot.code} began; correct the time."
    if wrong:
        first = next(iter(wrong.values()))
        raise ActionError(first if len(wrong) == 1 else f"{len(wrong)} entries need correcting.", fields=wrong)


def _read_one(draft: _Draft, measure: Measure, entry: EntryTyped) -> str:
    """Takes one entry into the draft. Returns the sentence to show beside it, or ""."""
    text = entry.text.strip()
    if measure.kind == Measure.Kind.RECORDER_FILE:
        return _read_recorder_file(draft, measure, text)
    if not text:
        return f"Enter {measure.label}." if measure.required else ""
    if measure.kind == Measure.Kind.NUMBER:
        if len(text) > LONGEST_NUMBER:
            return f"That is not a number that {measure.label} can have; type it in digits."
        try:
            draft.typed[measure.id] = read_typed(measure.quantity, text, entry.unit or measure.unit)
        except InputError as error:
            return str(error)
        return ""
    if measure.kind == Measure.Kind.PHOTO:
        return _read_photo(draft, measure, text)
    if measure.kind == Measure.Kind.ANSWER and text not in measure.choices:
        return "Choose one of: " + ", ".join(measure.choices) + "."
    if measure.kind == Measure.Kind.SCAN and (
        sentence := codes.wrong(draft.check, draft.lot, text, draft.check.revision.premises)
    ):
        return sentence
    draft.choices[measure.id] = text
    return ""


def _read_photo(draft: _Draft, measure: Measure, text: str) -> str:
    try:
        photo = PhotoFile.objects.filter(premises=draft.check.revision.premises_id, id=UUID(text)).first()
    except ValueError:
        photo = None
    if photo is None:
        return f"Take {measure.label} again: that photograph is not here."
    draft.photos[measure.id] = photo
    draft.choices[measure.id] = str(photo)
    return ""


def _read_recorder_file(draft: _Draft, measure: Measure, text: str) -> str:
    if text:
        return f"{measure.label} is a file; send the file by itself and name it here."
    return "Add the recorder's file." if measure.required and draft.trace is None else ""


def _settle(due: DueCheck | None, now: datetime) -> None:
    """A due check that the sweep has flagged as missed stays so; the record is then a late entry."""
    if due is not None:
        DueCheck.objects.filter(pk=due.pk, settled_at__isnull=True).update(settled_at=now)


def _write(scope: Scope, record: Record, draft: _Draft, now: datetime) -> Saved:
    values = {measure: Value(value_si=typed.value_si) for measure, typed in draft.typed.items()}
    values |= {measure: Value(choice=choice) for measure, choice in draft.choices.items()}
    if draft.trace is not None:
        values |= recorder_values(draft.check)
    uncertainty, unfit = fitness(draft.instrument, scope.premises, record.observed_at, draft.numbers())
    record.expanded_uncertainty, record.instrument_unfit = uncertainty, unfit or ""
    case = Case(
        premises=scope.premises,
        check=draft.check,
        lot=draft.lot,
        observed_at=record.observed_at,
        values=values,
        expanded_uncertainty=uncertainty,
        unfit=unfit,
        instrument=draft.instrument,
        as_of=record.recorded_at,
        trace=draft.trace,
        trace_roles=record.trace_roles,
        amends=record.amends,
    )
    verdicts = judge_case(case)
    record.save(force_insert=True)
    readings = Reading.objects.bulk_create(_readings(record, draft))
    rulings = RulingRow.objects.bulk_create(
        RulingRow(
            id=uuid4(),
            record=record,
            limit=limit,
            ruling=verdict.ruling,
            margin=verdict.margin,
            code=verdict.code,
            reason=verdict.reason,
            facts=verdict.facts,
            judged_by=f"{limit.evaluator} {evaluators.EVALUATORS[limit.evaluator].version}",
        )
        for limit, verdict in verdicts
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="record.amended" if record.amends_id else "record.saved",
        subject=f"record:{record.id}",
        body=sealing.record_body(record, readings, rulings),
        actor=scope.actor,
        at=now,
    )
    moments = [record.observed_at] if record.amends is None else [record.observed_at, record.amends.observed_at]
    days_changed(scope.premises, moments, now)
    consequences.record_saved(scope, record, rulings, now)
    return Saved(record, tuple(rulings), created=True)


def _readings(record: Record, draft: _Draft) -> Sequence[Reading]:
    numbers = [
        Reading(
            record=record, measure_id=measure, value_si=typed.value_si, typed_text=typed.text, typed_unit=typed.unit
        )
        for measure, typed in draft.typed.items()
    ]
    answers = [
        Reading(record=record, measure_id=measure, choice=text, photo=draft.photos.get(measure))
        for measure, text in draft.choices.items()
    ]
    return [*numbers, *answers]

"""Every write about samples: one function, one transaction."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from batches.laboratory import kept_elsewhere, sealing
from batches.laboratory.consequences import open_for_result
from batches.laboratory.judging import judge_values
from batches.laboratory.models import Sample, SampleTest, TestResult
from batches.laboratory.verifies import fitting_point
from haccp.ledger import actions as ledger
from haccp.lots.models import Lot
from haccp.plan.models import ControlPoint
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Place, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.sampling.plans import Plan
from haccp.science.units import QUANTITIES, read_typed

CLOCK_TOLERANCE = timedelta(minutes=2)
MOST_UNITS = 60
Kind = SampleTest.Kind


@dataclass(frozen=True, slots=True)
class TestAsked:
    """One test of a sample to be; see models.SampleTest. criterion_n: what the law's plan asks for, where it is
    known."""

    kind: str
    parameter: str
    n: int = 1
    c: int = 0
    m: float | None = None
    largest: float | None = None
    unit: str = ""
    absent_in: str = ""
    criterion: str = ""
    source: str = ""
    fewer_because: str = ""
    criterion_n: int | None = None


@transaction.atomic
def sample_take(
    *,
    scope: Scope,
    sample_id: UUID,
    laboratory: str,
    tests: Sequence[TestAsked],
    taken_at: datetime,
    lot_id: UUID | None = None,
    place_id: UUID | None = None,
    verifies_id: UUID | None = None,
    spot: str = "",
    sent_at: datetime | None = None,
    temperature: str = "",
    temperature_unit: str = "°C",
    note: str = "",
    now: datetime | None = None,
) -> Sample:
    """A sample was taken of a lot or of a place, and says what is asked of the laboratory.

    Moves: lock the premises; give back the sample already there under sample_id; look everything up within the
    premises; number, write and seal it. verifies_id: the control point whose working it shows; the one that fits
    best (`verifies.fitting_point`) where it is left out. Raises ActionError with a sentence per field, Conflict for
    other content under the same id.
    """
    scope.require(Right.RECORD)
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    there = Sample.objects.filter(pk=sample_id).prefetch_related("tests").first()
    if there is not None:
        kept = (there.premises_id, there.lot_id, there.place_id, there.laboratory, there.taken_at, _asked_of(there))
        if kept != (premises.pk, lot_id, place_id, laboratory.strip(), taken_at, [one.parameter for one in tests]):
            raise Conflict("This sample was already sent with other content; start a new one.")
        return there
    lot, place = _subject(premises, lot_id, place_id)
    point = _control_point(premises, verifies_id, lot, place, tests, now)
    temperature_c = _checked(lot, laboratory, tests, taken_at, sent_at, temperature, temperature_unit, now)
    sample = Sample.objects.create(
        id=sample_id,
        premises=premises,
        code=_next_code(premises, taken_at),
        lot=lot,
        place=place,
        spot=spot.strip(),
        laboratory=laboratory.strip(),
        verifies=point,
        taken_at=taken_at,
        sent_at=sent_at,
        temperature_c=temperature_c,
        note=note.strip(),
        recorded_at=now,
        recorded_by=scope.user,
    )
    SampleTest.objects.bulk_create(_row(sample, i, one) for i, one in enumerate(tests))
    ledger.seal(
        log_id=scope.log_id,
        kind="sample.taken",
        subject=f"sample:{sample.id}",
        body=sealing.sample_body(sample),
        actor=scope.actor,
        at=now,
    )
    return sample


@transaction.atomic
def result_enter(
    *,
    scope: Scope,
    result_id: UUID,
    test_id: UUID,
    values: Sequence[str],
    reported_at: datetime,
    unit: str = "",
    method: str = "",
    report_number: str = "",
    replaces_id: UUID | None = None,
    replace_reason: str = "",
    now: datetime | None = None,
) -> TestResult:
    """The laboratory's answer to one test, judged by its plan of samples.

    A result that fails opens a deviation and holds what it implicates; of a swab, what the zone of its point asks for.
    replaces_id: the result that this one corrects
    or completes, with its reason; both stay. Raises ActionError with a sentence per field, Conflict where somebody
    was faster.
    """
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    test = (
        SampleTest.objects.filter(pk=test_id, sample__premises=scope.premises)
        .select_related("sample__lot__product", "sample__place", "sample__verifies")
        .first()
    )
    if test is None:
        raise ActionError("There is no such test at this dairy; open the sample again.", field="test")
    texts = [" ".join(str(one).split()) for one in values]
    there = TestResult.objects.filter(pk=result_id).first()
    if there is not None:
        if (there.test_id, there.values, there.reported_at) != (test.pk, texts, reported_at):
            raise Conflict("This result was already sent with other content; start a new one.")
        return there
    earlier = _replaced(test, replaces_id, replace_reason)
    _refuse_impossible_times(test.sample, reported_at, now)
    judged = judge_values(test, texts, unit or test.unit)
    result = TestResult(
        id=result_id,
        test=test,
        values=texts,
        unit=unit or test.unit,
        method=method.strip(),
        report_number=report_number.strip(),
        reported_at=reported_at,
        ruling=judged.verdict.ruling if judged.verdict else "",
        code=judged.verdict.code if judged.verdict else "",
        reason=judged.verdict.reason if judged.verdict else "",
        facts=judged.facts,
        replaces=earlier,
        replace_reason=replace_reason.strip() if earlier else "",
        recorded_at=now,
        recorded_by=scope.user,
    )
    kept = kept_elsewhere.keep(scope, result, now)
    if kept is not None:
        result.deviation = kept.deviation
    else:
        result.deviation = open_for_result(scope, result, deviation_id=uuid5(result_id, "deviation"), at=now)
    result.save(force_insert=True)
    ledger.seal(
        log_id=scope.log_id,
        kind="sample.result",
        subject=f"sample_result:{result.id}",
        body=sealing.result_body(result),
        actor=scope.actor,
        at=now,
    )
    return result


def _asked_of(sample: Sample) -> list[str]:
    return [test.parameter for test in sample.tests.all()]


def _subject(premises: Premises, lot_id: UUID | None, place_id: UUID | None) -> tuple[Lot | None, Place | None]:
    if (lot_id is None) == (place_id is None):
        raise ActionError("Say what was sampled: one lot, or one place.", field="lot")
    if lot_id is not None:
        lot = Lot.objects.for_premises(premises).filter(pk=lot_id).select_related("product").first()
        if lot is None:
            raise ActionError("There is no such lot at this dairy; choose one from the list.", field="lot")
        return lot, None
    place = Place.objects.filter(premises=premises, pk=place_id).first() if place_id is not None else None
    if place is None:
        raise ActionError("There is no such place at this dairy; choose one from the list.", field="place")
    return None, place


def _control_point(
    premises: Premises,
    verifies_id: UUID | None,
    lot: Lot | None,
    place: Place | None,
    tests: Sequence[TestAsked],
    at: datetime,
) -> ControlPoint:
    revision = revision_in_force(premises, at)
    if revision is None:
        raise ActionError("No approved plan is in force; have the plan approved before taking samples.")
    if verifies_id is None:
        chosen = fitting_point(revision, lot, place, [one.parameter for one in tests])
    else:
        chosen = revision.control_points.filter(pk=verifies_id).first()
    if chosen is None:
        raise ActionError("Choose the control point of the plan that this sample verifies.", field="verifies")
    return chosen


def _checked(
    lot: Lot | None,
    laboratory: str,
    tests: Sequence[TestAsked],
    taken_at: datetime,
    sent_at: datetime | None,
    temperature: str,
    temperature_unit: str,
    now: datetime,
) -> float | None:
    """The temperature in °C; all that cannot be used is said at once."""
    wrong: dict[str, str] = {}
    temperature_c = None
    if not laboratory.strip():
        wrong["laboratory"] = "Say which laboratory examines it; “own” if you do it yourself."
    if taken_at > now + CLOCK_TOLERANCE:
        wrong["taken_at"] = "That time is in the future; correct the time."
    elif lot is not None and taken_at < lot.begun_at:
        wrong["taken_at"] = f"That is before {lot.code} began; correct the time."
    if sent_at is not None and sent_at < taken_at:
        wrong["sent_at"] = "It was sent before it was taken; correct one of the two times."
    if temperature.strip():
        try:
            temperature_c = read_typed("temperature", temperature, temperature_unit).value_si
        except InputError as error:
            wrong["temperature"] = str(error)
    wrong |= _faults_of(tests)
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    return temperature_c


def _faults_of(tests: Sequence[TestAsked]) -> dict[str, str]:
    if not tests:
        return {"tests": "Say what the laboratory is asked for: one test at least."}
    said = {f"test-{i}": _fault_of(test) for i, test in enumerate(tests)}
    return {name: sentence for name, sentence in said.items() if sentence}


def _fault_of(test: TestAsked) -> str:
    """What is wrong with a test that is asked for; "" where nothing is."""
    if test.kind not in Kind.values:
        return "Choose whether it is a count, a presence or absence, or a measured value."
    if not test.parameter.strip():
        return "Say what the laboratory looks for."
    if not 1 <= test.n <= MOST_UNITS:
        return f"A sample has 1 to {MOST_UNITS} units; correct their number."
    if test.criterion_n is not None and test.n < test.criterion_n and not test.fewer_because.strip():
        return f"The criterion takes {test.criterion_n} units; say why {test.n} do here, or take {test.criterion_n}."
    if test.kind == Kind.QUANTITY and test.parameter not in QUANTITIES:
        return "Choose the measured value from the list."
    if test.kind == Kind.ABSENCE and not test.absent_in.strip():
        return "Say in how much it must be absent, such as 25 g."
    if test.kind == Kind.COUNT and test.m is not None:
        try:
            Plan(test.n, test.c, test.m, test.largest)
        except InputError as error:
            return str(error)
    return ""


def _row(sample: Sample, position: int, test: TestAsked) -> SampleTest:
    return SampleTest(
        id=uuid5(sample.pk, f"test-{position}"),
        sample=sample,
        position=position,
        kind=test.kind,
        parameter=test.parameter.strip(),
        n=test.n,
        c=test.c if test.kind == Kind.COUNT else 0,
        m=test.m if test.kind == Kind.COUNT else None,
        largest=test.largest if test.kind == Kind.COUNT else None,
        unit=test.unit,
        absent_in=test.absent_in.strip() if test.kind == Kind.ABSENCE else "",
        criterion=test.criterion,
        source=test.source.strip(),
        fewer_because=test.fewer_because.strip(),
    )


def _next_code(premises: Premises, taken_at: datetime) -> str:
    """S<year>-<count>, unique because the premises' row is locked."""
    stem = f"S{premises.local_date(taken_at):%y}-"
    numbers = Sample.objects.for_premises(premises).filter(code__startswith=stem).values_list("code", flat=True)
    last = max((int(code.removeprefix(stem)) for code in numbers), default=0)
    return f"{stem}{last + 1:03d}"


def _replaced(test: SampleTest, replaces_id: UUID | None, reason: str) -> TestResult | None:
    standing = test.results.filter(replaced_by__isnull=True).first()
    if replaces_id is None:
        if standing is not None:
            raise Conflict("This test has a result already; open it and correct or complete that one.")
        return None
    if standing is None or standing.pk != replaces_id:
        raise Conflict("That result was corrected meanwhile; open the sample again.")
    if not reason.strip():
        raise ActionError("Say why the result is replaced; the reason is shown beside it.", field="replace_reason")
    return standing


def _refuse_impossible_times(sample: Sample, reported_at: datetime, now: datetime) -> None:
    if reported_at > now + CLOCK_TOLERANCE:
        raise ActionError("That time is in the future; correct the time.", field="reported_at")
    if reported_at < sample.taken_at:
        raise ActionError("That is before the sample was taken; correct the time.", field="reported_at")

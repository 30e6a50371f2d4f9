"""An instrument was found out: all that was read with it since it was last known to be good is doubted, until somebody
decides: the records of checks, and what rooms above read besides (haccp.calibration.resting).

A doubt never changes a record. It is a further sealed row with what each limit says now: unproven, or still breached.
Beside it stands what the limit would say of the value corrected by the error that was found; that helps whoever
decides, and rules nothing.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from uuid import uuid5

from haccp.calibration import sealing
from haccp.calibration.fitting_points import FittingPoints
from haccp.calibration.models import Calibration, Doubt, DoubtedReading, LaterRuling
from haccp.calibration.resting import Resting, resting_on
from haccp.checks.judging import judge_corrected, read_with
from haccp.checks.models import Record, RulingRow
from haccp.deviations.actions import deviation_open
from haccp.deviations.implication import Implication, Touched, touched_there
from haccp.deviations.models import Deviation
from haccp.ledger import actions as ledger
from haccp.ledger.bulk import insert
from haccp.lots.models import Lot
from haccp.lots.queries import in_place_between
from haccp.plan.models import ControlPoint
from haccp.plan.queries import revision_in_force
from haccp.premises.scope import Scope
from haccp.science.ruling import Ruling


@dataclass(slots=True)
class _AtPoint:
    """What rests on the instrument at one control point, as the plan in force has it. readings: with their kind."""

    point: ControlPoint
    records: list[Record] = field(default_factory=list)
    readings: list[tuple[str, Resting]] = field(default_factory=list)

    @property
    def judged(self) -> bool:
        """Something that was judged here rests on it; what was read beside another instrument only compares."""
        return bool(self.records) or any(not one.beside for _kind, one in self.readings)


def put_in_doubt(
    scope: Scope, calibration: Calibration, errors: Sequence[float], since: datetime | None, *, at: datetime
) -> list[Doubt]:
    """Runs inside instrument_calibrate's transaction. since: when it was last known to be good; None: never."""
    doubts: list[Doubt] = []
    at_points, nowhere = _by_control_point(scope, calibration, since, at)
    for one in at_points.values():
        deviation = _open(scope, calibration, one, since, at)
        doubts += [_doubt(scope, calibration, deviation, record, errors, since, at) for record in one.records]
        _doubt_readings(scope, calibration, deviation, one.readings, since, at)
    _doubt_readings(scope, calibration, None, nowhere, since, at)
    return doubts


def _by_control_point(
    scope: Scope, calibration: Calibration, since: datetime | None, at: datetime
) -> tuple[Mapping[str, _AtPoint], list[tuple[str, Resting]]]:
    """Code of the control point -> what rests on the instrument there, in order; and what fits no control point, as
    there is no plan."""
    found: dict[str, _AtPoint] = {}
    records = (
        Record.objects.for_premises(scope.premises)
        .current()
        .with_details()
        .filter(instrument=calibration.instrument, observed_at__lte=calibration.performed_at)
        .order_by("observed_at", "pk")
    )
    if since is not None:
        records = records.filter(observed_at__gt=since)
    newest: dict[str, Record] = {}
    by_code: dict[str, list[Record]] = defaultdict(list)
    for record in records:
        code = record.check_done.control_point.code
        by_code[code].append(record)
        newest[code] = record
    for code, those in by_code.items():
        found[code] = _AtPoint(_point_now(scope, newest[code], at), those)
    nowhere: list[tuple[str, Resting]] = []
    resting = resting_on(calibration.instrument, since, calibration.performed_at)
    fitting = FittingPoints(scope.premises, at) if resting else None
    for kind, one in resting:
        point = fitting.of(one) if fitting else None
        if point is None:
            nowhere.append((kind, one))
        else:
            found.setdefault(point.code, _AtPoint(point)).readings.append((kind, one))
    return found, nowhere


def _open(scope: Scope, calibration: Calibration, there: _AtPoint, since: datetime | None, at: datetime) -> Deviation:
    when = f"since {scope.premises.local_date(since).isoformat()}" if since else "since ever"
    code = there.point.code
    parts = []
    if there.records:
        parts.append(f"{len(there.records)} record{'s' if len(there.records) > 1 else ''} of {code}")
    if there.readings:
        count = len(there.readings)
        parts.append(f"{count} {'other ' if there.records else ''}reading{'s' if count > 1 else ''}")
    one = len(there.records) + len(there.readings) == 1
    return deviation_open(
        scope=scope,
        deviation_id=uuid5(calibration.pk, code),
        control_point=there.point,
        summary=f"{calibration.instrument.name} was found out: {calibration.found_reason} "
        f"{' and '.join(parts)} {when} rest{'s' if one else ''} on it.",
        occurred_at=calibration.performed_at,
        implication=_implicated(scope, calibration, there, since),
        holds=there.point.is_critical and there.judged,
        cause=Deviation.Cause.INSTRUMENT,
        at=at,
    )


def _point_now(scope: Scope, record: Record, at: datetime) -> ControlPoint:
    """The control point as the plan in force has it, so that its corrective action is today's."""
    point = record.check_done.control_point
    revision = revision_in_force(scope.premises, at)
    now = ControlPoint.objects.filter(revision=revision, code=point.code).first() if revision else None
    return now or point


def _implicated(scope: Scope, calibration: Calibration, at_point: _AtPoint, since: datetime | None) -> Implication:
    direct: dict[object, Touched] = {}
    name = calibration.instrument.name
    records, readings = at_point.records, [one for _kind, one in at_point.readings]
    for record in records:
        if record.lot is not None:
            why = f"{record.check_done.name} was read with {name}"
            direct.setdefault(record.lot_id, Touched(record.lot, why, record.lot.begun_at))
    for one in readings:
        if one.lot is not None:
            why = f"{one.words} was read with {name}"
            direct.setdefault(one.lot.pk, Touched(one.lot, why, one.lot.begun_at))
    there: list[Touched] = []
    places = {record.place for record in records if record.lot_id is None and record.place is not None}
    for place in places | {one.place for one in readings if one.lot is None and one.place is not None}:
        inside = in_place_between(place, since, calibration.performed_at)
        there += touched_there(inside, f"was in {place.name} while it was read with {name}", since)
    if any(record.lot_id is None and record.place_id is None for record in records):
        made = Lot.objects.for_premises(scope.premises).batches().filter(begun_at__lte=calibration.performed_at)
        made = made.filter(begun_at__gt=since) if since else made
        there += touched_there(made, f"was made while {name} was relied on", since)
    for touched in there:
        direct.setdefault(touched.lot.pk, touched)
    return Implication(since, tuple(direct.values()), travels=False)


def _doubt(
    scope: Scope,
    calibration: Calibration,
    deviation: Deviation,
    record: Record,
    errors: Sequence[float],
    since: datetime | None,
    at: datetime,
) -> Doubt:
    reason = _reason(scope, calibration, since)
    doubt = Doubt.objects.create(
        id=uuid5(calibration.pk, str(record.pk)),
        calibration=calibration,
        record=record,
        deviation=deviation,
        reason=reason,
    )
    LaterRuling.objects.bulk_create(_later_rulings(doubt, record, errors))
    ledger.seal(
        log_id=scope.log_id,
        kind="record.doubted",
        subject=f"doubt:{doubt.id}",
        body=sealing.doubt_body(doubt),
        actor=scope.actor,
        at=at,
    )
    return doubt


def _reason(scope: Scope, calibration: Calibration, since: datetime | None) -> str:
    when = f"after {scope.premises.local_date(since).isoformat()}" if since else "at no time before"
    day = scope.premises.local_date(calibration.performed_at)
    return (
        f"{calibration.instrument.name} was found out on {day}, and was "
        f"not known to be good {when}: {calibration.found_reason}"
    )


def _doubt_readings(
    scope: Scope,
    calibration: Calibration,
    deviation: Deviation | None,
    readings: Sequence[tuple[str, Resting]],
    since: datetime | None,
    at: datetime,
) -> None:
    reason = _reason(scope, calibration, since)
    rows = [
        DoubtedReading(
            id=uuid5(calibration.pk, f"{kind}:{one.about}"),
            calibration=calibration,
            source=kind,
            about=one.about,
            words=one.words,
            read_at=one.read_at,
            lot=one.lot,
            place=one.place,
            deviation=deviation,
            reason=reason,
        )
        for kind, one in readings
    ]
    if not rows:
        return
    insert(rows)
    sealings = [
        ledger.Sealing("reading.doubted", f"doubted_reading:{row.pk}", sealing.doubted_reading_body(row))
        for row in rows
    ]
    ledger.seal_many(log_id=scope.log_id, sealings=sealings, actor=scope.actor, at=at)


def _later_rulings(doubt: Doubt, record: Record, errors: Sequence[float]) -> list[LaterRuling]:
    """Of the worst of the errors found, either way, what each limit would say."""
    corrected = _corrected(record, errors)
    read = read_with(record.instrument, record.check_done.measures.all())
    in_doubt = {limit.pk for measure in read for limit in measure.limits.all()}
    rows = []
    for row in record.rulings.all():
        if row.limit_id not in in_doubt:
            continue
        said = corrected.get(row.limit_id)
        rows.append(
            LaterRuling(
                id=uuid5(doubt.pk, str(row.limit_id)),
                doubt=doubt,
                limit_id=row.limit_id,
                ruling=_now(row),
                reason=f"Unproven: {doubt.reason}" if _now(row) == Ruling.UNPROVEN else row.reason,
                corrected_ruling=said[0] if said else "",
                corrected_reason=said[1] if said else "",
                judged_by=row.judged_by,
            )
        )
    return rows


def _now(row: RulingRow) -> Ruling:
    """What was breached stays breached; an answer that was awaited is still awaited; the rest is unproven."""
    before = Ruling(row.ruling)
    return before if before in (Ruling.BREACHED, Ruling.AWAITED) else Ruling.UNPROVEN


def _corrected(record: Record, errors: Sequence[float]) -> dict[object, tuple[str, str]]:
    """The worst that any of the errors found makes of each limit. Empty where nothing can be corrected."""
    found: dict[object, tuple[str, str]] = {}
    for error in {min(errors), max(errors)} if errors else set():
        for limit, verdict in judge_corrected(record, error):
            worst = found.get(limit.pk)
            if worst is None or _BADNESS[verdict.ruling] > _BADNESS[Ruling(worst[0])]:
                found[limit.pk] = (verdict.ruling.value, verdict.reason)
    return found


_BADNESS = {Ruling.MET: 0, Ruling.CLOSE: 1, Ruling.AWAITED: 2, Ruling.UNPROVEN: 3, Ruling.BREACHED: 4}

"""Closed periods, checks by use and far ahead, and the sweep against the pure function over six weeks."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from uuid import uuid4

import pytest

from haccp.checks import actions as checks
from haccp.checks.actions.plan_due import plan_due_for_use
from haccp.checks.before_release import checks_before_release
from haccp.checks.closed import calendar_of
from haccp.checks.models import DueCheck, MissedCheck
from haccp.checks.queries import record_of_due
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.lots.models import LotEvent
from haccp.plan import actions as plan
from haccp.premises.errors import ActionError, NotAllowed
from haccp.science.schedule import USE, slots
from tests.dairy import OPENED_AT, PASSWORD, Dairy, open_dairy

pytestmark = pytest.mark.django_db
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
MORNING = "FREQ=DAILY;BYHOUR=7;BYMINUTE=30;BYSECOND=0"


def with_more_checks(dairy: Dairy) -> Dairy:
    """A second revision, from the next day on: one check that rests, three by use, one far ahead."""
    draft = plan.revision_copy(scope=dairy.owner, change_summary="More checks.", at=OPENED_AT)
    looks = [plan.MeasureDraft("Looks clean", "answer", choices=["yes", "no"])]

    def by_use(name: str, when: str, every: int = 1, after_s: int = 0, **more: object) -> plan.CheckDraft:
        cadence = {"kind": "use", "when": when, "every": every, "after_s": after_s}
        return plan.CheckDraft(
            name=name, subject="place", place=dairy.vat, cadence=cadence, measures=looks, grace_s=1800, **more
        )  # type: ignore[arg-type]

    plan.control_point_add(
        scope=dairy.owner,
        revision=draft,
        draft=plan.ControlPointDraft(
            code="PRP 3",
            name="More",
            kind="prerequisite",
            programme="cleaning",
            corrective_action="Clean it.",
            checks=[
                plan.CheckDraft(
                    name="Milk filter",
                    subject="premises",
                    cadence={"kind": "clock", "rrule": MORNING, "from": "2026-01-01"},
                    measures=looks,
                    rests="without_milk",
                ),
                by_use("Vat ready", "before_first", if_missed="deviation"),
                by_use("Vat washed", "after_last", after_s=3 * 3600),
                by_use("Valve taken apart", "every", every=3),
                plan.CheckDraft(
                    name="Looked at on day 14",
                    subject="batch",
                    cadence={"kind": "event", "event": "make_started", "offsets_s": [14 * 86400]},
                    measures=looks,
                ),
            ],
        ),
    )
    dairy.revision = plan.revision_approve(
        scope=dairy.owner, revision=draft, effective_from=OPENED_AT + DAY, password=PASSWORD, at=OPENED_AT + HOUR
    )
    return dairy


def expected(dairy: Dairy, until: datetime) -> set[tuple[str, datetime, bool]]:
    """(name, due at, missed) of the second revision, straight from the pure function."""
    calendar = calendar_of(dairy.owner.premises)
    found = set()
    for check in dairy.revision.checks.all():
        subject = {"batch": "batch", "milk": "milk"}.get(check.subject)
        about: Iterable[dict[str, list[datetime]]] = [{}]
        if subject:
            lots: dict[object, dict[str, list[datetime]]] = {}
            for event in LotEvent.objects.filter(lot__premises=dairy.owner.premises, lot__kind=subject):
                lots.setdefault(event.lot_id, {}).setdefault(event.kind, []).append(event.occurred_at)
            about = lots.values()
        elif check.cadence["kind"] == "use":
            events = LotEvent.objects.filter(place=check.place, kind="make_started").order_by("occurred_at")
            about = [{USE: [event.occurred_at for event in events]}]
        for events_of_one in about:
            found |= {
                (check.name, slot.due_at, slot.grace_ends_at <= until)
                for slot in slots(
                    check.cadence,
                    time_zone=dairy.owner.premises.time_zone,
                    window_before_s=check.window_before_s,
                    grace_s=check.grace_s,
                    start=OPENED_AT + DAY,
                    end=until + timedelta(hours=1),
                    events=events_of_one,
                    closed=calendar.for_check(check),
                )
            }
    return found


def stored(dairy: Dairy, until: datetime) -> set[tuple[str, datetime, bool]]:
    rows = DueCheck.objects.filter(
        premises=dairy.owner.premises,
        check_due__revision=dairy.revision,
        due_at__gte=OPENED_AT + DAY,
        due_at__lt=until + timedelta(hours=1),
    )
    # The review of the plan follows from its reviews, not from a cadence.
    rows = rows.exclude(check_due__name="Review of the plan")
    found = rows.values_list("check_due__name", "due_at", "missed__id")
    return {(name, due_at, missed is not None) for name, due_at, missed in found}


def live_through(dairy: Dairy, *, sweeps_every: timedelta | None, until: datetime) -> None:
    """Makes on some days; two on one; a closed period; the clock changes on 29 March."""
    premises_day = date(2026, 3, 20)
    acts: list[tuple[datetime, int, object]] = []
    for day, hours in ((2, (6,)), (4, (6, 9)), (5, (6, 16)), (30, (5,)), (33, (5,))):
        acts += [(OPENED_AT.replace(hour=0) + day * DAY + hour * HOUR, 1, "make") for hour in hours]
    acts.append((OPENED_AT + 10 * DAY, 1, "close"))
    if sweeps_every:
        now = OPENED_AT + DAY
        while now < until:
            acts.append((now, 0, "sweep"))
            now += sweeps_every
    for at, _, act in sorted(acts, key=lambda one: one[:2]):
        if act == "sweep":
            assert not checks.sweep(now=at).errors
        elif act == "make":
            dairy.start_make(at=at)
        else:
            checks.closed_period_add(
                scope=dairy.owner,
                period_id=uuid4(),
                without="milk",
                first=premises_day,
                last=premises_day + 5 * DAY,
                reason="The ewes are dry.",
                now=at,
            )
    assert not checks.sweep(now=until).errors


def test_one_sweep_after_six_weeks_of_downtime_gives_what_many_sweeps_and_the_pure_function_give() -> None:
    until = OPENED_AT + timedelta(weeks=6)
    slept = with_more_checks(open_dairy())
    live_through(slept, sweeps_every=None, until=until)
    woke = with_more_checks(open_dairy(name="Mill Lane Dairy"))
    live_through(woke, sweeps_every=timedelta(hours=5), until=until)

    due = expected(slept, until)
    assert stored(slept, until) == due
    assert stored(woke, until) == due
    days = {at.date() for name, at, _ in due if name == "Milk filter"}
    assert date(2026, 3, 19) in days
    assert not {date(2026, 3, 20) + n * DAY for n in range(6)} & days
    assert date(2026, 3, 26) in days
    # Room 1 is looked at every day of the closed period: cheese ripens whether milk comes in or not.
    assert {date(2026, 3, 20) + n * DAY for n in range(6)} <= {
        at.date() for name, at, _ in due if name == "Room 1 temperature"
    }
    assert len([1 for name, _, _ in due if name == "Looked at on day 14"]) == 5
    assert len([1 for name, _, _ in due if name == "Vat ready"]) == 5
    # 3 h and half an hour's grace: the make at 9 follows within it, the one at 16 does not.
    assert len([1 for name, _, _ in due if name == "Vat washed"]) == 6
    assert len([1 for name, _, _ in due if name == "Valve taken apart"]) == 2
    # Nothing twice, whatever runs again, also with the clock set back an hour.
    before = MissedCheck.objects.count()
    assert checks.sweep(now=until).flagged == 0
    assert checks.sweep(now=until - HOUR).flagged == 0
    assert MissedCheck.objects.count() == before
    opened = {one.deviation.control_point.code for one in MissedCheck.objects.filter(deviation__isnull=False)}
    assert opened == {"CCP 1", "CCP 3", "PRP 3"}
    for dairy in (slept, woke):
        assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_a_check_done_before_the_use_was_known_answers_it() -> None:
    dairy = with_more_checks(open_dairy())
    morning = OPENED_AT.replace(hour=6) + 2 * DAY
    saved = dairy.save("Vat ready", "yes", at=morning - timedelta(minutes=20))
    dairy.start_make(at=morning)
    ready = DueCheck.objects.get(check_due__name="Vat ready")
    assert ready.settled_at is not None
    found = record_of_due(ready)
    assert found is not None
    assert found.id == saved.record.id
    checks.sweep(now=morning + DAY)
    assert not MissedCheck.objects.filter(due=ready).exists()
    # One record answers one use.
    dairy.start_make(at=morning + DAY)
    assert DueCheck.objects.filter(check_due__name="Vat ready", settled_at__isnull=True).count() == 1
    assert plan_due_for_use(premises=dairy.owner.premises, place=dairy.vat, used_at=morning, now=morning + DAY) == 0


def test_a_closed_period_hides_nothing_that_is_due_already() -> None:
    dairy = with_more_checks(open_dairy())
    now = OPENED_AT + 3 * DAY
    checks.sweep(now=now)
    today = dairy.owner.premises.local_date(now)

    def close(first: date, last: date, *, who: str = "owner", reason: str = "Dry.", without: str = "milk") -> None:
        checks.closed_period_add(
            scope=getattr(dairy, who),
            period_id=uuid4(),
            without=without,
            first=first,
            last=last,
            reason=reason,
            now=now,
        )

    for arguments, sentence in (
        ({"first": today, "last": today + 5 * DAY}, "tomorrow at the earliest"),
        ({"first": today + 5 * DAY, "last": today + 2 * DAY}, "exchange the two"),
        ({"first": today + DAY, "last": today + 900 * DAY}, "a year at most"),
        ({"first": today + DAY, "last": today + 2 * DAY, "reason": " "}, "Say why"),
        ({"first": today + DAY, "last": today + 2 * DAY, "without": "rain"}, "Choose what"),
    ):
        with pytest.raises(ActionError, match=sentence):
            close(**arguments)  # type: ignore[arg-type]
    with pytest.raises(NotAllowed):
        close(today + DAY, today + 2 * DAY, who="maker")
    close(today + DAY, today + 20 * DAY)
    with pytest.raises(ActionError, match="closed period already"):
        close(today + 10 * DAY, today + 30 * DAY)

    checks.sweep(now=now)
    planned = DueCheck.objects.filter(check_due__name="Milk filter")
    assert max(dairy.owner.premises.local_date(one.due_at) for one in planned) == today
    period_id = dairy.owner.premises.closed_periods.get().id
    with pytest.raises(ActionError, match="from tomorrow on"):
        checks.reopening_add(scope=dairy.owner, period_id=period_id, on=today, now=now)
    checks.reopening_add(scope=dairy.owner, period_id=period_id, on=today + 8 * DAY, now=now + DAY)
    checks.sweep(now=now + 10 * DAY)
    days = {dairy.owner.premises.local_date(one.due_at) for one in planned.all()}
    assert not {today + n * DAY for n in range(1, 8)} & days
    assert {today + 8 * DAY, today + 9 * DAY} <= days


def test_a_check_before_release_is_lacking_until_it_is_done_and_met() -> None:
    dairy = open_dairy()
    draft = plan.revision_copy(scope=dairy.owner, change_summary="Look before it goes.", at=OPENED_AT)
    limit = plan.LimitDraft(
        key="rind", statement="Rind whole", quantity="answer", evaluator="answer", comparator="one_of", accepted=["yes"]
    )
    check = plan.CheckDraft(
        name="Rind looked at",
        subject="batch",
        cadence={"kind": "before_release"},
        measures=[plan.MeasureDraft("Rind whole", "answer", choices=["yes", "no"], limits=["rind"])],
    )
    plan.control_point_add(
        scope=dairy.owner,
        revision=draft,
        draft=plan.ControlPointDraft(
            code="PRP 3",
            name="Release",
            kind="prerequisite",
            corrective_action="Keep it.",
            limits=[limit],
            checks=[check],
        ),
    )
    dairy.revision = plan.revision_approve(
        scope=dairy.owner, revision=draft, effective_from=OPENED_AT, password=PASSWORD, at=OPENED_AT
    )
    make = dairy.start_make(at=OPENED_AT + DAY)

    def standing() -> list[tuple[str, bool, bool]]:
        found = checks_before_release([make.lot])
        return [(one.check.name, one.record is not None, one.is_met) for one in found]

    assert not DueCheck.objects.filter(check_due__name="Rind looked at").exists()
    assert standing() == [("Rind looked at", False, False)]
    dairy.save("Rind looked at", "no", at=OPENED_AT + 2 * DAY, lot_id=make.lot_id)
    assert standing() == [("Rind looked at", True, False)]
    dairy.save("Rind looked at", "yes", at=OPENED_AT + 3 * DAY, lot_id=make.lot_id)
    assert standing() == [("Rind looked at", True, True)]

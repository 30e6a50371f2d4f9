"""Records kept, amended, signed over, released and attacked in any order, against a model of a few lines."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import hypothesis.strategies as st
import pytest
from django.apps import apps
from django.db import DatabaseError, connection, transaction
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from batches.release import actions as release
from batches.release.gate import gate_of
from batches.release.models import Release
from haccp.checks import actions as checks
from haccp.checks.daybook import day_book
from haccp.checks.models import DaySignature, PlanningMark, Reading, Record
from haccp.ledger.models import Entry, Log, Signature
from haccp.ledger.verification import verify_log
from haccp.premises.errors import ActionError
from tests.dairy import PASSWORD, Dairy, open_dairy
from tests.release.ready import made_and_met

MORNING = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)
DAY = MORNING.date()
# Degrees inside the room's limits, as people type them; and what is refused.
TEMPERATURES = st.sampled_from(["10.5", "11", "11.0", "11,5", "12"])
NONSENSE = st.sampled_from(["warm", "1e999", "", "-400"])
# Table -> a column that somebody would change. Of a signature the printed name may be erased, and nothing else.
SEALED = {
    "checks.Record": "note",
    "checks.Reading": "typed_text",
    "checks.RulingRow": "reason",
    "ledger.Entry": "body",
    "ledger.Signature": "meaning",
    "release.Release": "content_sha256",
}


class Records(RuleBasedStateMachine):
    """The model: what each record says and what it was amended by; who signed which state of the day; released or not.

    state counts what the day's signatures are over: each record changes it.
    """

    dairy: Dairy
    lot: Any

    def __init__(self) -> None:
        super().__init__()
        self.atomic = transaction.atomic()
        self.atomic.__enter__()
        self.said: dict[UUID, str] = {}
        self.amended: dict[UUID, UUID] = {}
        self.entries_before = Entry.objects.count()
        self.records_before = set(Record.objects.values_list("pk", flat=True))
        self.state, self.signed_off, self.reviewed, self.released = 0, -1, -1, False
        self.minute = 0
        self.entries = self.entries_before

    def teardown(self) -> None:
        try:
            report = verify_log(Log.objects.get(pk=self.dairy.owner.log_id))
            assert report.holds, report.problem
        finally:
            transaction.set_rollback(True)
            self.atomic.__exit__(None, None, None)

    def now(self) -> datetime:
        self.minute += 1
        return MORNING + timedelta(hours=12, minutes=self.minute)

    def tried(self, act: Callable[[], object], *, works: bool) -> None:
        """Does it, and compares with what the model says; a refusal leaves nothing behind."""
        try:
            with transaction.atomic():
                act()
        except ActionError:
            assert not works
        else:
            assert works

    def record(self, record_id: UUID, typed: str) -> Callable[[], object]:
        return lambda: self.dairy.save(
            "Room 1 temperature",
            typed,
            at=MORNING + timedelta(hours=1),
            now=self.now(),
            record_id=record_id,
            instrument_id=self.dairy.thermometer.id,
        )

    @initialize()
    def nothing_yet(self) -> None:
        assert not Release.objects.exists()

    @rule(typed=TEMPERATURES)
    def record_is_saved(self, typed: str) -> None:
        record_id = uuid4()
        self.tried(self.record(record_id, typed), works=True)
        self.said[record_id] = typed
        self.state += 1

    @rule(typed=NONSENSE)
    def nonsense_is_refused(self, typed: str) -> None:
        self.tried(self.record(uuid4(), typed), works=False)

    @precondition(lambda self: self.said)
    @rule(data=st.data(), typed=TEMPERATURES)
    def the_same_id_comes_again(self, data: st.DataObject, typed: str) -> None:
        record_id = data.draw(st.sampled_from(sorted(self.said)))
        original = record_id not in self.amended.values()
        self.tried(self.record(record_id, typed), works=original and self.said[record_id] == typed)

    @precondition(lambda self: self.said)
    @rule(data=st.data(), typed=TEMPERATURES, reason=st.sampled_from(["Read the wrong shelf.", "", "  "]))
    def record_is_amended(self, data: st.DataObject, typed: str, reason: str) -> None:
        amends, new = data.draw(st.sampled_from(sorted(self.said))), uuid4()
        works = bool(reason.strip()) and amends not in self.amended
        self.tried(
            lambda: checks.record_amend(
                scope=self.dairy.maker,
                record_id=new,
                amends_id=amends,
                entries=self.dairy.entries("Room 1 temperature", typed),
                observed_at=MORNING + timedelta(hours=1),
                reason=reason,
                instrument_id=self.dairy.thermometer.id,
                now=self.now(),
            ),
            works=works,
        )
        if works:
            self.said[new], self.amended[amends] = typed, new
            self.state += 1

    @rule(right_password=st.sampled_from([True, True, False]), has_read=st.sampled_from([True, True, False]))
    def day_is_signed_off(self, right_password: bool, has_read: bool) -> None:
        works = right_password and has_read and self.signed_off != self.state
        self.tried(lambda: self.sign("helper", "signed_off", right_password, has_read), works=works)
        if works:
            self.signed_off = self.state

    @rule(by=st.sampled_from(["maker", "helper"]), right_password=st.sampled_from([True, True, False]))
    def day_is_reviewed(self, by: str, right_password: bool) -> None:
        ready = self.signed_off == self.state and self.reviewed != self.state
        works = right_password and ready and by == "maker"
        self.tried(lambda: self.sign(by, "reviewed", right_password, True), works=works)
        if works:
            self.reviewed = self.state

    def sign(self, who: str, meaning: str, right_password: bool, has_read: bool) -> DaySignature:
        seen = day_book(self.dairy.owner.premises, DAY).content_sha256
        return checks.day_sign(
            scope=getattr(self.dairy, who),
            day=DAY,
            meaning=meaning,
            password=PASSWORD if right_password else "not this one",
            seen_sha256=seen if has_read else "0" * 64,
            now=self.now(),
        )

    @rule(by=st.sampled_from(["owner", "maker", "helper"]), right_password=st.sampled_from([True, True, False]))
    def batch_is_released(self, by: str, right_password: bool) -> None:
        is_open = self.signed_off == self.reviewed == self.state
        works = right_password and by != "helper" and is_open and not self.released
        at = self.now()
        seen = gate_of(self.dairy.owner, self.lot, at).content_sha256
        self.tried(
            lambda: release.batch_release(
                scope=getattr(self.dairy, by),
                release_id=uuid4(),
                lot_id=self.lot.pk,
                password=PASSWORD if right_password else "not this one",
                seen_sha256=seen,
                now=at,
            ),
            works=works,
        )
        self.released = self.released or works

    @rule(label=st.sampled_from(sorted(SEALED)), how=st.sampled_from(["UPDATE {0} SET {1} = 'x'", "DELETE FROM {0}"]))
    def a_sealed_row_is_attacked(self, label: str, how: str) -> None:
        model = apps.get_model(label)
        if not model._default_manager.exists():
            return
        quote = connection.ops.quote_name
        statement = how.format(quote(model._meta.db_table), quote(SEALED[label]))
        with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement)

    @invariant()
    def what_was_acknowledged_is_there_once_and_nothing_else(self) -> None:
        rows = Reading.objects.exclude(record__in=self.records_before)
        assert dict(rows.values_list("record_id", "typed_text")) == self.said
        amendments = Record.objects.filter(pk__in=self.said, amends__isnull=False)
        assert dict(amendments.values_list("amends_id", "pk")) == self.amended
        sealed = Entry.objects.filter(kind__in=["record.saved", "record.amended"], index__gte=self.entries_before)
        assert {entry.subject for entry in sealed} == {f"record:{record_id}" for record_id in self.said}
        assert sealed.count() == len(self.said)
        assert Release.objects.count() == int(self.released)
        assert Signature.objects.filter(meaning="batch.released").count() in (0, int(self.released))


@pytest.mark.django_db
def test_any_order_of_attempts_leaves_what_the_model_says() -> None:
    dairy = open_dairy()
    make = made_and_met(dairy, at=MORNING)
    PlanningMark.objects.update_or_create(
        premises=dairy.owner.premises, defaults={"planned_until": MORNING + timedelta(days=30)}
    )

    class OnThisDairy(Records):
        pass

    OnThisDairy.dairy, OnThisDairy.lot = dairy, make.lot
    run_state_machine_as_test(
        OnThisDairy,
        settings=settings(
            max_examples=8,
            stateful_step_count=15,
            deadline=None,
            derandomize=True,
            # Shrinking a sequence of attempts takes minutes; the one that was found is short enough to read.
            phases=[Phase.explicit, Phase.generate],
            suppress_health_check=list(HealthCheck),
        ),
    )

"""Packs are made once, under a lease, with progress that never falls; nothing is left half made."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.core.files.storage import default_storage
from django.db import connection
from django.test.utils import CaptureQueriesContext

from haccp.ledger.models import Entry
from haccp.premises.errors import ActionError, Conflict
from haccp.reports import actions, claim, making, tasks
from haccp.reports.claim import Claim, ClaimLost
from haccp.reports.gather.gathered import gather
from haccp.reports.gather.period import period_of
from haccp.reports.layout import pack as layout
from haccp.reports.models import VisitPack
from tests.dairy import Dairy, open_dairy
from tests.reports import history
from tests.reports.conftest import ASKED_AT, FROM, TO, MakePack


def ask(dairy: Dairy) -> VisitPack:
    return actions.pack_request(scope=dairy.owner, pack_id=uuid4(), period_from=FROM, period_to=TO, now=ASKED_AT)


def test_a_pack_asked_for_twice_is_one_pack(dairy: Dairy, handed_over: list[str]) -> None:
    pack_id = uuid4()
    for _ in range(2):
        actions.pack_request(scope=dairy.owner, pack_id=pack_id, period_from=FROM, period_to=TO, now=ASKED_AT)
    assert VisitPack.objects.count() == 1
    assert handed_over == [str(pack_id)]
    with pytest.raises(Conflict, match="another period"):
        actions.pack_request(scope=dairy.owner, pack_id=pack_id, period_from=FROM, period_to=FROM, now=ASKED_AT)


def test_an_id_of_another_dairy_is_refused_without_showing_its_pack(dairy: Dairy) -> None:
    theirs = ask(dairy)
    other = open_dairy(name="Glen Dairy")
    with pytest.raises(Conflict):
        actions.pack_request(scope=other.owner, pack_id=theirs.id, period_from=FROM, period_to=TO, now=ASKED_AT)
    with pytest.raises(ActionError, match="no such pack"):
        actions.pack_cancel(scope=other.owner, pack_id=theirs.id)


@pytest.mark.parametrize(
    ("first", "last", "sentence"),
    [
        (date(2026, 3, 10), date(2026, 3, 9), "ends before it begins"),
        (date(2026, 3, 12), date(2026, 3, 13), "lies in the future"),
        (date(2026, 3, 1), date(2026, 3, 12), "ends in the future; today is 2026-03-11"),
        (date(2025, 3, 10), date(2026, 3, 11), "That is 367 days"),
    ],
)
def test_a_period_that_cannot_be_printed_is_refused(
    dairy: Dairy, first: date, last: date, sentence: str, handed_over: list[str]
) -> None:
    with pytest.raises(ActionError, match=sentence):
        actions.pack_request(scope=dairy.owner, pack_id=uuid4(), period_from=first, period_to=last, now=ASKED_AT)
    assert not VisitPack.objects.exists()
    assert handed_over == []


def test_a_leap_year_fits(dairy: Dairy) -> None:
    now = ASKED_AT.replace(year=2029)
    actions.pack_request(
        scope=dairy.owner, pack_id=uuid4(), period_from=date(2028, 1, 1), period_to=date(2028, 12, 31), now=now
    )


def test_two_workers_make_a_pack_once(dairy: Dairy) -> None:
    pack = ask(dairy)
    held = claim.claim(pack.id, ASKED_AT)
    assert held is not None
    assert claim.claim(pack.id, ASKED_AT) is None
    assert actions.pack_make(pack_id=pack.id, now=ASKED_AT) is False


def test_a_pack_of_a_killed_worker_is_taken_up_when_its_lease_has_run_out(
    dairy: Dairy, handed_over: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    pack = ask(dairy)
    handed_over.clear()
    dead = claim.claim(pack.id, ASKED_AT)
    assert dead is not None

    assert making.packs_left(now=ASKED_AT + claim.LEASE - timedelta(seconds=1)) == []
    after = ASKED_AT + claim.LEASE
    monkeypatch.setattr("haccp.reports.making.timezone.now", lambda: after)
    assert tasks.take_up_packs() == 1
    assert handed_over == [str(pack.id)]
    assert actions.pack_make(pack_id=pack.id, now=after)

    # The dead one wakes up: it may neither tell progress nor store anything.
    with pytest.raises(ClaimLost):
        dead.report("Records", 5, 10)
    assert Entry.objects.filter(kind="pack.made").count() == 1


def test_a_pack_cut_off_three_times_ends_with_a_sentence(dairy: Dairy) -> None:
    pack = ask(dairy)
    now = ASKED_AT
    for _ in range(making.MOST_ATTEMPTS):
        assert making.packs_left(now=now) == [pack.id]
        assert claim.claim(pack.id, now) is not None
        now += claim.LEASE
    assert making.packs_left(now=now) == []
    pack.refresh_from_db()
    assert pack.has_failed
    assert "cut off 3 times" in pack.failure


def test_a_failure_is_tried_three_times_and_then_kept(
    dairy: Dairy, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    pack = ask(dairy)

    def broken(*args: object, **kwargs: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(layout, "draw", broken)
    for attempt in range(1, 4):
        pack.refresh_from_db()
        assert not pack.has_failed
        assert actions.pack_make(pack_id=pack.id, now=ASKED_AT + timedelta(seconds=attempt)) is False
    pack.refresh_from_db()
    assert pack.has_failed
    assert pack.failure.startswith("The pack could not be made (OSError). Make it again")
    assert "disk full" in caplog.text
    assert not Entry.objects.filter(kind="pack.made").exists()


def test_a_pack_cancelled_while_it_is_drawn_leaves_no_file(dairy: Dairy, monkeypatch: pytest.MonkeyPatch) -> None:
    pack = ask(dairy)
    real = layout.draw

    def cancel_then_draw(*args: object, **kwargs: object) -> object:
        actions.pack_cancel(scope=dairy.helper, pack_id=pack.id)
        return real(*args, **kwargs)  # type: ignore[arg-type]

    monkeypatch.setattr(layout, "draw", cancel_then_draw)
    assert actions.pack_make(pack_id=pack.id, now=ASKED_AT) is False
    pack.refresh_from_db()
    assert pack.is_cancelled
    assert not pack.is_finished
    assert not default_storage.exists("packs")
    with pytest.raises(Conflict):
        actions.pack_cancel(scope=dairy.helper, pack_id=pack.id)


def test_progress_never_falls_and_ends_with_all_done(
    dairy: Dairy, make_pack: MakePack, monkeypatch: pytest.MonkeyPatch
) -> None:
    history.eventful_week(dairy)
    told: list[tuple[str, int, int]] = []
    monkeypatch.setattr(claim, "LEAST_PAUSE_S", 0.0)
    real = Claim.report

    def listen(self: Claim, stage: str, done: int, total: int) -> None:
        real(self, stage, done, total)
        row = VisitPack.objects.get(pk=self.pack_id)
        told.append((row.stage, row.done_parts, row.total_parts))

    monkeypatch.setattr(Claim, "report", listen)
    pack = make_pack(dairy.owner)

    done = [one for _, one, _ in told]
    assert done == sorted(done)
    assert len(set(done)) > 40
    totals = {total for _, _, total in told}
    assert totals == {0, pack.total_parts}
    assert told[-1][1] == pack.total_parts
    stages = list(dict.fromkeys(stage for stage, _, _ in told))
    assert stages[0] == "Reading the records"
    assert stages[-1] == "Storing the file"
    assert {"Heat treatments", "Deviations and corrective actions", "Signatures"} <= set(stages)


def test_a_finished_pack_is_not_made_again(dairy: Dairy, make_pack: MakePack) -> None:
    pack = make_pack(dairy.owner)
    assert making.packs_left(now=ASKED_AT + timedelta(days=1)) == []
    assert actions.pack_make(pack_id=pack.id, now=ASKED_AT + timedelta(days=1)) is False


def test_gathering_costs_the_same_queries_for_four_days_and_for_seven(dairy: Dairy) -> None:
    counts, records = [], []
    for first, days in ((0, 4), (4, 3)):
        history.eventful_week(dairy, first=history.FIRST_DAY + timedelta(days=first), days=days, closed=0)
        pack = ask(dairy)
        with CaptureQueriesContext(connection) as queries:
            gathered = gather(period_of(pack), made_at=ASKED_AT)
        counts.append(len(queries))
        records.append(gathered.counts.records)
    assert records[0] < records[1]
    assert counts[0] == counts[1]

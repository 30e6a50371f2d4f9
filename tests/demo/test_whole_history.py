"""Four weeks of history, across a change of the clock, up to a working day at noon."""

from collections import Counter
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.db.models import F

from batches.recall.queries import course_of, recalls_of
from batches.release.models import Release
from batches.stock.models import CounterSale, Customer, Dispatch, Item, ItemEvent
from batches.stock.queries import counter_left_kg
from batches.tracing.amounts import balances
from haccp.checks import actions as checks
from haccp.checks.daybook import day_book
from haccp.checks.models import DaySignature, DueCheck, MissedCheck, Record, RulingRow, TraceFile
from haccp.config.demo.plan import names
from haccp.deviations.models import Deviation
from haccp.ledger import canonical
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.lots.models import Hold, Lot
from haccp.plan.models import CriticalLimit, Hazard, PlanRevision, Product
from haccp.premises.models import Membership
from haccp.science.evaluators import EVALUATORS
from haccp.science.heat.legal import Process, required
from haccp.science.ruling import Ruling
from tests.demo.conftest import Loaded, loaded_at, local

pytestmark = [pytest.mark.django_db, pytest.mark.xdist_group("demo whole")]
NOW = "2026-04-08T11:40"  # within the four weeks, on 29 March 2026, 01:00 becomes 02:00 in Dublin


@pytest.fixture(scope="module")
def loaded(django_db_setup: None, django_db_blocker: Any) -> Iterator[Loaded]:
    with loaded_at(local(NOW), 28, django_db_blocker) as found:
        yield found


def test_nothing_is_left_that_a_sweep_would_flag(loaded: Loaded) -> None:
    assert not DueCheck.objects.past_grace(loaded.now).exists()
    assert checks.sweep(now=loaded.now).flagged == 0


def test_the_ledger_and_every_row_that_it_sealed_hold(loaded: Loaded) -> None:
    report = verify_log(Log.objects.get(pk=loaded.dairy.premises.log_id))
    assert report.problem == ""
    assert report.rows > 600


def test_it_has_three_cheeses_of_three_milks_and_treatments(loaded: Loaded) -> None:
    kinds = set(Product.objects.values_list("species", "treatment"))
    assert kinds == {("ewe", "raw"), ("goat", "pasteurised"), ("cow", "thermised")}
    made = Counter(Lot.objects.batches().values_list("product__treatment", flat=True))
    assert all(made[treatment] >= 7 for _, treatment in kinds)


def test_three_people_have_three_roles(loaded: Loaded) -> None:
    assert set(Membership.objects.values_list("role", flat=True)) == {"owner", "maker", "helper"}
    authors = set(Record.objects.values_list("recorded_by__memberships__role", flat=True))
    assert authors == {"owner", "maker", "helper"}


def test_every_ruling_is_among_the_records(loaded: Loaded) -> None:
    found = Counter(RulingRow.objects.values_list("ruling", flat=True))
    assert set(found) == set(Ruling)
    # What is wrong on purpose is the only thing that is wrong.
    assert (found["breached"], found["unproven"]) == (1, 1)


def test_each_cause_of_a_deviation_is_there_and_only_one_stands_open(loaded: Loaded) -> None:
    assert Counter(Deviation.objects.values_list("cause", flat=True)) == {"ruling": 2, "missed": 1, "by_hand": 1}
    still_open = Deviation.objects.open().get()
    assert still_open.control_point.code == "CCP 2"
    held = {hold.lot_id for hold in Hold.objects.standing().filter(cause=still_open.hold_cause)}
    assert held == {one.lot_id for one in still_open.implicated.all()} != set()


def test_a_batch_that_was_destroyed_stays_on_hold_and_a_released_one_does_not(loaded: Loaded) -> None:
    slow = Deviation.objects.get(cause="ruling", closure__isnull=False)
    forgotten = Deviation.objects.get(cause="missed")
    assert Hold.objects.standing().filter(cause=slow.hold_cause).count() == 1
    assert Hold.objects.filter(cause=forgotten.hold_cause).exists()
    assert not Hold.objects.standing().filter(cause=forgotten.hold_cause).exists()


def test_closed_deviations_have_every_step_and_a_signature(loaded: Loaded) -> None:
    closed = Deviation.objects.closed()
    assert closed.count() == 3
    for deviation in closed:
        kinds = set(deviation.steps.values_list("kind", flat=True))
        assert kinds == {"cause", "correction", "disposition", "prevention", "reassessment"}
        assert deviation.closure.signature.meaning == "deviation.closed"


def test_missed_checks_were_flagged_within_a_minute_and_have_reasons(loaded: Loaded) -> None:
    missed = list(MissedCheck.objects.select_related("due__check_due"))
    assert Counter(one.due.check_due.name for one in missed) == {names.CAVE: 1, names.WATER: 1, names.PH_WASHED: 1}
    for one in missed:
        assert one.missed_at == one.due.grace_ends_at
        assert timedelta(0) <= one.flagged_at - one.missed_at < timedelta(minutes=1)
        assert one.reason.text


def test_there_are_late_entries_and_one_amendment(loaded: Loaded) -> None:
    late = Record.objects.filter(recorded_at__gt=F("observed_at") + timedelta(hours=6), amends__isnull=True)
    assert late.count() == 3
    amendment = Record.objects.get(amends__isnull=False)
    assert amendment.amend_reason
    assert [r.typed_text for r in amendment.amends.readings.all() if r.typed_text] == ["3.4"]
    assert [r.typed_text for r in amendment.readings.all() if r.typed_text] == ["4.3"]


def test_recorder_files_are_kept_as_they_came_in_both_decimal_marks(loaded: Loaded) -> None:
    traces = list(TraceFile.objects.select_related("lot__product"))
    assert len(traces) >= 14
    for trace in traces:
        assert set(trace.roles.values()) == {"product", "air_space"}
        assert trace.duration_s > 40 * 60
        # One sample a second; only the recorder whose plug came loose has lost some.
        lost = trace.duration_s + 1 - trace.sample_count
        assert lost == 0 or (lost > 30 and trace.lot.holds.exists())
    assert {trace.lot.product.treatment for trace in traces} == {"pasteurised", "thermised"}


def test_records_point_at_both_revisions_of_the_plan(loaded: Loaded) -> None:
    first, second = PlanRevision.objects.order_by("number")
    assert first.is_approved
    assert second.is_approved
    age = loaded.now - second.effective_from
    assert timedelta(days=9) < age < timedelta(days=15)
    assert Record.objects.filter(revision=first).count() > 100
    assert Record.objects.filter(revision=second).count() > 100
    # Checks by the clock belong to the revision in force when they fell due.
    by_clock = DueCheck.objects.filter(lot__isnull=True)
    assert not by_clock.filter(check_due__revision=first, due_at__gte=second.effective_from).exists()
    assert not by_clock.filter(check_due__revision=second, due_at__lt=second.effective_from).exists()


def test_days_are_signed_off_and_reviewed_by_another_but_the_last_few(loaded: Loaded) -> None:
    today = loaded.dairy.today
    for ago in range(5, 28):
        book = day_book(loaded.dairy.premises, today - timedelta(days=ago))
        assert book.signed_off is not None, book.unanswered
        assert book.reviewed is not None
        assert book.reviewed.signed_by_id != book.signed_off.signed_by_id
    last_few = DaySignature.objects.filter(meaning="reviewed", day__gt=today - timedelta(days=4))
    assert not last_few.exists()


def test_nothing_was_recorded_after_now_or_before_it_was_seen(loaded: Loaded) -> None:
    assert not Record.objects.filter(recorded_at__gt=loaded.now).exists()
    assert not Record.objects.filter(observed_at__gt=F("recorded_at")).exists()
    assert not Lot.objects.filter(begun_at__gt=loaded.now).exists()


def test_milk_came_twice_a_day_and_makes_on_every_day_but_sundays(loaded: Loaded) -> None:
    zone = loaded.dairy.premises.zone
    milk = Counter(
        at.astimezone(zone).date() for at in Lot.objects.filter(kind="milk").values_list("begun_at", flat=True)
    )
    makes = [at.astimezone(zone).date() for at in Lot.objects.batches().values_list("begun_at", flat=True)]
    for ago in range(1, 28):
        day = loaded.dairy.today - timedelta(days=ago)
        assert milk[day] == 2
        assert makes.count(day) == (0 if day.weekday() == 6 else 1)


def test_the_plan_names_the_source_of_every_limit_and_uses_every_way_of_judging(loaded: Loaded) -> None:
    for revision in PlanRevision.objects.all():
        limits = revision.limits.all()
        assert set(limits.values_list("evaluator", flat=True)) == set(EVALUATORS)
        assert [limit.statement for limit in limits if not limit.source_document] == []


def test_pasteurisation_is_the_laws_and_thermisation_claims_no_law(loaded: Loaded) -> None:
    """Regulation (EC) 853/2004, Annex III, section IX, chapter II, part II: 63 °C for 30 min, and no thermisation."""
    limits = CriticalLimit.objects.filter(evaluator="holding", revision__number=2)
    pasteurisation = limits.get(control_point__code="CCP 1")
    (published,) = required("EU", Process.BATCH, fat_percent=4.0)
    assert (pasteurisation.low, pasteurisation.parameters["hold_s"]) == (published.temperature_c, published.hold_s)
    assert "853/2004" in pasteurisation.source_document
    thermisation = limits.get(control_point__code="CCP 2")
    assert thermisation.source_document == "Producer's validation"


def test_batches_of_age_were_released_by_what_the_gate_showed_and_no_others(loaded: Loaded) -> None:
    releases = list(Release.objects.standing().select_related("lot__product", "signature"))
    assert len(releases) >= 4
    for release in releases:
        assert release.lot.product.code == "LC"  # the others need six weeks and four months
        shown = canonical.loads(release.signature.content)
        assert isinstance(shown, dict)
        assert {point["standing"] for point in shown["points"]} == {"met"}
        assert release.signature.printed_name == "Nuala Breen"
    assert not Hold.objects.standing().filter(lot__releases__isnull=False).exists()


def test_released_batches_went_to_the_trade_and_over_the_counter_and_every_kilogram_is_told(loaded: Loaded) -> None:
    premises = loaded.dairy.premises
    sold = list(Lot.objects.filter(items__isnull=False).distinct())
    assert len(sold) >= 3
    assert set(Item.objects.values_list("kind", flat=True)) == {"wheel", "cut", "pack"}
    assert not Item.objects.exclude(lot__releases__isnull=False).exists()
    assert Customer.objects.count() == 3
    assert all(one.email.endswith(".example") for one in Customer.objects.all())
    assert len({one.date() for one in Dispatch.objects.values_list("dispatched_at", flat=True)}) >= 4
    happened = Counter(ItemEvent.objects.values_list("kind", flat=True))
    assert (happened["sample"], happened["returned"]) == (1, 1)
    # One fell from the trolley, and what came back was destroyed.
    assert happened["loss"] == 2
    assert CounterSale.objects.count() >= 4

    for lot, balance in zip(sold, balances(premises, sold).values(), strict=True):
        assert balance.there
        assert balance.unexplained == pytest.approx(0, abs=1e-6), lot
    # A fortnight and three days after the make the counter is empty, but for what its scale never saw.
    of_old = [lot for lot in sold if loaded.now - lot.begun_at > timedelta(days=18)]
    left = counter_left_kg([lot.pk for lot in of_old])
    assert sorted(round(left[lot.pk], 2) for lot in of_old)[-2:] == [0.0, 0.21]


def test_a_recall_was_exercised_to_its_end(loaded: Loaded) -> None:
    course = course_of(recalls_of(loaded.dairy.premises).get())
    assert course.recall.kind == "exercise"
    assert course.chosen is not None
    assert course.chosen.lot is not None
    assert course.chosen.lot.kind == Lot.Kind.MILK
    assert len(course.reached) == course.chosen.figures["customers"] == 3
    assert course.finished is not None
    assert timedelta(minutes=20) < course.finished.elapsed < timedelta(hours=1)
    assert course.finished.figures["unexplained_kg"] == 0


def test_every_significant_hazard_is_controlled_at_a_control_point(loaded: Loaded) -> None:
    hazards = Hazard.objects.filter(revision__number=2)
    assert {"biological", "chemical", "physical", "allergen"} == set(hazards.values_list("kind", flat=True))
    assert all(hazard.justification for hazard in hazards)
    assert not hazards.filter(significant=True, control_points__isnull=True).exists()

"""What stands in the way of a batch: each kind of obstacle, and that it goes when it is settled."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from pytest_django import DjangoAssertNumQueries

from batches.making.models import Make
from batches.making.standing import Matter, Standing, batch_standing
from haccp.checks import actions as checks
from haccp.checks.models import DueCheck, MissedCheck
from haccp.deviations import actions as deviations
from haccp.deviations.models import Deviation
from haccp.deviations.queries import guide
from tests.dairy import HOUR, PASSWORD, Dairy, open_dairy

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def stands(dairy: Dairy, make: Make, at: datetime) -> Standing:
    return batch_standing(dairy.owner.premises, make.lot, at)


def matters(standing: Standing) -> set[Matter]:
    return {one.matter for one in standing.obstacles}


def test_a_fresh_make_tells_its_due_check_that_of_its_milk_and_the_limit_nothing_will_judge(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    standing = stands(dairy, make, MORNING)

    due = [one.sentence for one in standing.obstacles if one.matter is Matter.DUE]
    assert [sentence.split(",")[0] for sentence in due] == ["Milk acceptance of M260310-C1", "Heat treatment"]
    # No starter is on record, so no pH check ever falls due: silence must not pass for a clean sheet.
    (never,) = [one.sentence for one in standing.obstacles if one.matter is Matter.NEVER_DUE]
    assert "pH at most 5.40" in never
    assert "falls due once “starter added” is recorded" in never


def test_recording_the_starter_turns_the_silent_limit_into_due_checks(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    dairy.event(make, "starter_added", at=MORNING + HOUR)
    standing = stands(dairy, make, MORNING + HOUR)

    assert Matter.NEVER_DUE not in matters(standing)
    assert sum("pH of the curd" in one.sentence for one in standing.obstacles) == 3
    # 12:00 UTC + 1 h is the second hour after the starter; the window opens half an hour before.
    assert any("It can be done from 10 Mar at 08:30." in one.sentence for one in standing.obstacles)


def test_a_missed_check_stands_in_the_way_until_somebody_says_why(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    later = MORNING + timedelta(hours=5)
    checks.sweep(now=later)
    missed = MissedCheck.objects.get(due__lot__kind="milk")
    before = [one.missed_id for one in stands(dairy, make, later).obstacles]
    assert missed.id in before

    checks.missed_reason_give(scope=dairy.maker, missed_id=missed.id, text="The kit had run out.", now=later)
    assert missed.id not in [one.missed_id for one in stands(dairy, make, later).obstacles]


def test_an_awaited_limit_is_undecided_until_a_later_reading_settles_it(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    dairy.event(make, "starter_added", at=MORNING)
    dairy.save("pH of the curd", "6.10", at=MORNING + 2 * HOUR, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id)
    assert Matter.UNDECIDED in matters(stands(dairy, make, MORNING + 2 * HOUR))

    dairy.save("pH of the curd", "5.20", at=MORNING + 5 * HOUR, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id)
    assert Matter.UNDECIDED not in matters(stands(dairy, make, MORNING + 5 * HOUR))


def breach(dairy: Dairy, make: Make) -> Deviation:
    dairy.event(make, "starter_added", at=MORNING)
    dairy.save("pH of the curd", "5.90", at=MORNING + 7 * HOUR, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id)
    return Deviation.objects.get()


def settle(dairy: Dairy, deviation: Deviation, make: Make, disposition: str) -> None:
    at = MORNING + 8 * HOUR
    for kind in ("cause", "correction", "prevention"):
        deviations.step_add(
            scope=dairy.maker, step_id=uuid4(), deviation_id=deviation.id, kind=kind, text="Old starter.", now=at
        )
    deviations.step_add(
        scope=dairy.maker,
        step_id=uuid4(),
        deviation_id=deviation.id,
        kind="disposition",
        text="As the laboratory advised.",
        lot_id=make.lot_id,
        disposition=disposition,
        now=at,
    )
    seen = guide(deviation).content_sha256
    deviations.deviation_close(
        scope=dairy.owner, deviation_id=deviation.id, password=PASSWORD, seen_sha256=seen, now=at
    )


def test_a_breach_is_told_once_as_the_hold_with_its_deviation(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    deviation = breach(dairy, make)
    standing = stands(dairy, make, MORNING + 7 * HOUR)

    (hold,) = [one for one in standing.obstacles if one.deviation_id == deviation.id]
    assert hold.matter is Matter.HOLD
    assert standing.is_held
    assert not {Matter.RULING, Matter.DEVIATION} & matters(standing)


@pytest.mark.parametrize(("disposition", "held"), [("release", False), ("destroy", True)])
def test_a_closed_deviation_frees_only_what_was_disposed_to_go_on(dairy: Dairy, disposition: str, held: bool) -> None:
    make = dairy.start_make(at=MORNING)
    settle(dairy, breach(dairy, make), make, disposition)
    standing = stands(dairy, make, MORNING + 8 * HOUR)

    assert standing.is_held is held
    assert Matter.RULING not in matters(standing)


def test_an_open_deviation_of_a_prerequisite_stands_in_the_way_without_a_hold(dairy: Dairy) -> None:
    milk = dairy.receive_milk(at=MORNING - HOUR)
    make = dairy.start_make(at=MORNING, milk=milk)
    due = DueCheck.objects.get(lot=milk.lot)
    dairy.save("Milk acceptance", "12.5", "negative", at=MORNING, lot_id=milk.lot_id, due_id=due.id,
               instrument_id=dairy.thermometer.id)  # fmt: skip
    standing = stands(dairy, make, MORNING)

    assert Matter.DEVIATION in matters(standing)
    assert not standing.is_held


def test_nothing_stands_in_the_way_when_all_was_done_and_met(dairy: Dairy) -> None:
    """The plan reduced to its milk and its acidity, each done and met."""
    milk = dairy.receive_milk(at=MORNING - HOUR)
    make = dairy.start_make(at=MORNING, milk=milk)
    dairy.event(make, "starter_added", at=MORNING)
    for due in DueCheck.objects.filter(lot__in=[milk.lot, make.lot]).select_related("check_due"):
        values = {"Milk acceptance": ("6.0", "negative"), "pH of the curd": ("5.10",), "Heat treatment": ()}
        if due.check_due.name == "Heat treatment":
            continue
        instrument = dairy.thermometer if due.check_due.name == "Milk acceptance" else dairy.ph_meter
        dairy.save(due.check_due.name, *values[due.check_due.name], at=due.due_at, lot_id=due.lot_id, due_id=due.id,
                   instrument_id=instrument.id)  # fmt: skip
    standing = stands(dairy, make, MORNING + 7 * HOUR)

    assert [one.sentence.split(",")[0] for one in standing.obstacles] == ["Heat treatment"]
    assert not standing.is_clear


def test_age_counts_days_of_the_calendar_at_the_dairy(dairy: Dairy) -> None:
    late_evening = datetime(2026, 3, 10, 23, 50, tzinfo=UTC)
    make = dairy.start_make(at=late_evening)
    assert stands(dairy, make, late_evening + timedelta(minutes=20)).age_days == 1
    assert stands(dairy, make, datetime(2026, 5, 9, 12, 0, tzinfo=UTC)).age_days == 60


def test_standing_costs_the_same_however_much_there_is(
    dairy: Dairy, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    make = dairy.start_make(at=MORNING)
    breach(dairy, make)
    for hour in range(8, 14):
        dairy.save("pH of the curd", "5.90", at=MORNING + hour * HOUR, lot_id=make.lot_id,
                   instrument_id=dairy.ph_meter.id)  # fmt: skip
    # two to walk up to the milk, then lots, versions, holds, deviations with steps and lots, records with rulings,
    # due checks, checks with products, measures, limits and their products
    with django_assert_max_num_queries(17):
        standing = stands(dairy, make, MORNING + 15 * HOUR)
    assert len(standing.obstacles) > 7

"""The release gate: each thing that can stand in the way, that it goes when it is settled, and what a release signs."""

import json
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
from pytest_django import DjangoAssertNumQueries

from batches.making.models import Make
from batches.release import actions as release_actions
from batches.release import contributors
from batches.release.gate import Gate, gate_of
from batches.release.models import Release
from batches.release.points import Matter, Point, Standing, outstanding
from batches.release.queries import release_of
from haccp.calibration import actions as calibration
from haccp.checks import actions as checks
from haccp.checks.models import DueCheck, MissedCheck
from haccp.deviations import actions as deviations
from haccp.deviations.models import Deviation
from haccp.deviations.queries import guide
from haccp.lots.models import Lot
from haccp.premises.errors import ActionError, Conflict, NotAllowed
from haccp.premises.scope import Scope
from tests.dairy import HOUR, PASSWORD, Dairy, open_dairy
from tests.release.ready import made_and_met, sign_day

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def stands(dairy: Dairy, make: Make, at: datetime) -> Gate:
    return gate_of(dairy.owner, make.lot, at)


def matters(gate: Gate) -> set[Matter]:
    return {one.matter for one in gate.in_the_way}


def test_a_fresh_make_tells_its_due_check_that_of_its_milk_and_the_limit_nothing_will_judge(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    standing = stands(dairy, make, MORNING)

    due = [one.words for one in standing.in_the_way if one.matter is Matter.CHECK]
    assert [sentence.split(",")[0] for sentence in due] == ["Milk acceptance of M260310-C1", "Heat treatment"]
    # No starter is on record, so no pH check ever falls due: silence must not pass for a clean sheet.
    (never,) = [one.words for one in standing.in_the_way if one.matter is Matter.LIMIT]
    assert "pH at most 5.40" in never
    assert "falls due once “starter added” is recorded" in never


def test_recording_the_starter_turns_the_silent_limit_into_due_checks(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    dairy.event(make, "starter_added", at=MORNING + HOUR)
    standing = stands(dairy, make, MORNING + HOUR)

    assert Matter.LIMIT not in matters(standing)
    assert sum("pH of the curd" in one.words for one in standing.in_the_way) == 3
    # 12:00 UTC + 1 h is the second hour after the starter; the window opens half an hour before.
    assert any("It can be done from 10 Mar at 08:30." in one.words for one in standing.in_the_way)


def test_a_missed_check_stands_in_the_way_until_somebody_says_why(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    later = MORNING + timedelta(hours=5)
    checks.sweep(now=later)
    missed = MissedCheck.objects.get(due__lot__kind="milk")
    before = [(one.link.about if one.link else None) for one in stands(dairy, make, later).in_the_way]
    assert missed.id in before

    checks.missed_reason_give(scope=dairy.maker, missed_id=missed.id, text="The kit had run out.", now=later)
    assert missed.id not in [(one.link.about if one.link else None) for one in stands(dairy, make, later).in_the_way]


def test_an_awaited_limit_is_undecided_until_a_later_reading_settles_it(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    dairy.event(make, "starter_added", at=MORNING)
    dairy.save("pH of the curd", "6.10", at=MORNING + 2 * HOUR, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id)
    assert Matter.LIMIT in matters(stands(dairy, make, MORNING + 2 * HOUR))

    dairy.save("pH of the curd", "5.20", at=MORNING + 5 * HOUR, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id)
    assert Matter.LIMIT not in matters(stands(dairy, make, MORNING + 5 * HOUR))


def test_the_reading_that_nobody_took_is_decided_where_its_absence_is(dairy: Dairy) -> None:
    """The pH was on its way at 2 h, and the readings of 4 h and 6 h were missed: the deviation tells of the limit."""
    make = dairy.start_make(at=MORNING)
    dairy.event(make, "starter_added", at=MORNING)
    dairy.save("pH of the curd", "6.10", at=MORNING + 2 * HOUR, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id)
    later = MORNING + 7 * HOUR
    [said] = [one for one in stands(dairy, make, later).in_the_way if one.matter is Matter.LIMIT]
    assert said.words.endswith("the time for it was over on 10 Mar at 12:00, and no reading has shown it.")

    checks.sweep(now=later)
    deviation = Deviation.objects.get(cause="missed", control_point__code="CCP 2")
    assert Matter.LIMIT not in matters(stands(dairy, make, later))
    assert Matter.HOLD in matters(stands(dairy, make, later))
    for one in Deviation.objects.filter(implicated__lot=make.lot):  # the heat treatment was not recorded either
        settle(dairy, one, make, "release")
    standing = stands(dairy, make, later + HOUR)
    assert not {Matter.LIMIT, Matter.HOLD, Matter.DEVIATION} & matters(standing)
    assert any(deviation.reference in one.words for one in standing.points if one.is_met)

    # A reading taken after all, too late to show it, opens the question again
    dairy.save("pH of the curd", "5.20", at=later + HOUR, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id)
    assert Matter.HOLD in matters(stands(dairy, make, later + HOUR))


def breach(dairy: Dairy, make: Make) -> Deviation:
    dairy.event(make, "starter_added", at=MORNING)
    dairy.save("pH of the curd", "5.90", at=MORNING + 7 * HOUR, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id)
    return Deviation.objects.get()


def settle(dairy: Dairy, deviation: Deviation, make: Make, disposition: str) -> None:
    at = MORNING + 8 * HOUR
    for kind in ("cause", "correction", "prevention", "reassessment"):
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

    (hold,) = [one for one in standing.in_the_way if one.link and one.link.about == deviation.id]
    assert hold.matter is Matter.HOLD
    assert standing.is_held
    assert not {Matter.LIMIT, Matter.DEVIATION} & matters(standing)


@pytest.mark.parametrize(("disposition", "held"), [("release", False), ("destroy", True)])
def test_a_closed_deviation_frees_only_what_was_disposed_to_go_on(dairy: Dairy, disposition: str, held: bool) -> None:
    make = dairy.start_make(at=MORNING)
    settle(dairy, breach(dairy, make), make, disposition)
    standing = stands(dairy, make, MORNING + 8 * HOUR)

    assert standing.is_held is held
    assert Matter.LIMIT not in matters(standing)


def test_an_open_deviation_of_a_prerequisite_stands_in_the_way_without_a_hold(dairy: Dairy) -> None:
    milk = dairy.receive_milk(at=MORNING - HOUR)
    make = dairy.start_make(at=MORNING, milk=milk)
    due = DueCheck.objects.get(lot=milk.lot)
    dairy.save("Milk acceptance", "12.5", "negative", at=MORNING, lot_id=milk.lot_id, due_id=due.id,
               instrument_id=dairy.thermometer.id)  # fmt: skip
    standing = stands(dairy, make, MORNING)

    assert Matter.DEVIATION in matters(standing)
    assert not standing.is_held


def test_all_done_met_and_signed_opens_the_gate_and_each_thing_undone_closes_it(dairy: Dairy) -> None:
    make = made_and_met(dairy, at=MORNING)
    evening = MORNING + 12 * HOUR
    (day,) = stands(dairy, make, evening).in_the_way
    assert day.matter is Matter.DAY_BOOK
    assert day.words == "The day book of 10 Mar 2026 is not signed off."

    sign_day(dairy, evening.date(), now=evening)
    gate = stands(dairy, make, evening)
    assert gate.is_open
    assert {point.matter for point in gate.met} >= {
        Matter.HOLD, Matter.DEVIATION, Matter.LIMIT, Matter.CHECK, Matter.MILK, Matter.CLEANING, Matter.DAY_BOOK,
        Matter.LABEL,
    }  # fmt: skip

    # A late entry changes the day that was signed, and the vat's cleaning speaks for one make only.
    later = evening + timedelta(minutes=1)
    dairy.event(make, "salted", at=later)
    assert [one.words for one in stands(dairy, make, later).in_the_way] == [
        "The day book of 10 Mar 2026 was changed after it was signed, and must be signed again."
    ]
    second = dairy.start_make(at=later)
    unproven = [one.words for one in stands(dairy, second, later).unproven if one.matter is Matter.CLEANING]
    assert unproven == [
        "No record shows that Vat 1 was cleaned between the make before and this one. “Vat 1 cleaned” was not done."
    ]


def test_a_day_with_an_unanswered_check_where_the_batch_lay_is_listed_until_somebody_says_why(dairy: Dairy) -> None:
    """It lies in Room 1, whose checks of two days are missed; nothing else speaks of those days."""
    make = made_and_met(dairy, at=MORNING)
    dairy.event(make, "placed_in_room", at=MORNING + 12 * HOUR, place=dairy.room)
    later = MORNING + timedelta(days=2, hours=12)
    checks.sweep(now=later)
    listed = [one.words for one in stands(dairy, make, later).in_the_way if one.matter is Matter.DAY_BOOK]
    waiting = DueCheck.objects.filter(reason_wanted=True, check_due__place=dairy.room)
    lost = sorted({f"{dairy.owner.premises.local_date(due.due_at):%-d %b %Y}" for due in waiting})
    assert "11 Mar 2026" in lost
    for day in ("11 Mar 2026", "12 Mar 2026"):
        assert any(words.startswith(f"The day book of {day} has ") for words in listed), listed
    for missed in MissedCheck.objects.filter(reason__isnull=True):
        checks.missed_reason_give(scope=dairy.maker, missed_id=missed.id, text="Nobody was here.", now=later)
    after = [one.words for one in stands(dairy, make, later).in_the_way if one.matter is Matter.DAY_BOOK]
    assert not any("without a reason" in words for words in after)
    elsewhere = dairy.start_make(at=later)  # never in the room: its days are its own
    assert not any("11 Mar" in one.words for one in stands(dairy, elsewhere, later).in_the_way)


def test_a_release_signs_exactly_what_the_gate_showed_and_a_later_hold_ends_it(dairy: Dairy) -> None:
    evening = MORNING + 12 * HOUR
    make = made_and_met(dairy, at=MORNING)
    seen = stands(dairy, make, evening).content_sha256
    arguments = {"scope": dairy.owner, "release_id": uuid4(), "lot_id": make.lot_id, "password": PASSWORD}

    def release(**changes: object) -> Release:
        return release_actions.batch_release(**(arguments | {"seen_sha256": seen, "now": evening} | changes))

    with pytest.raises(ActionError, match="cannot be released: The day book of 10 Mar 2026 is not signed off"):
        release()
    sign_day(dairy, evening.date(), now=evening)
    with pytest.raises(Conflict, match="shows something else"):
        release()
    gate = stands(dairy, make, evening)
    seen = gate.content_sha256
    with pytest.raises(ActionError, match="not your password"):
        release(password="a guess")
    with pytest.raises(NotAllowed):
        release(scope=dairy.helper)
    done = release()
    assert json.loads(done.signature.content)["points"] == [
        {"standing": one.standing, "matter": one.matter, "words": one.words} for one in gate.points
    ]
    assert release().pk == done.pk  # sent twice, released once
    with pytest.raises(Conflict, match="already released by Orla Owner"):
        release(release_id=uuid4())
    assert release_of(make.lot) == done

    deviations.deviation_report(
        scope=dairy.maker, deviation_id=uuid4(), control_point_id=dairy.check("Heat treatment").control_point_id,
        summary="The recorder was found 1.5 °C high.", occurred_at=evening, lot_ids=[make.lot_id],
        now=evening + HOUR,
    )  # fmt: skip
    assert release_of(make.lot) is None
    with pytest.raises(ActionError, match="On hold: D2026-001: The recorder was found"):
        release(release_id=uuid4())


def test_a_room_that_nobody_watched_is_unproven(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    dairy.event(make, "placed_in_room", at=MORNING + HOUR, place=dairy.room)
    (room,) = [one for one in stands(dairy, make, MORNING + 30 * HOUR).unproven if one.matter is Matter.ROOM]
    assert room.words == "Room 1 temperature (CCP 3): no record while the batch was in Room 1."

    dairy.save("Room 1 temperature", "11", at=MORNING + 26 * HOUR, instrument_id=dairy.thermometer.id)
    (room,) = [one for one in stands(dairy, make, MORNING + 30 * HOUR).met if one.matter is Matter.ROOM]
    assert room.words.startswith("Room 1 temperature (CCP 3): 1 of 1 records met")


def test_what_a_room_above_registers_stands_in_the_gate(dairy: Dairy, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(contributors, "_contributors", {})
    make = made_and_met(dairy, at=MORNING)
    evening = MORNING + 12 * HOUR
    sign_day(dairy, evening.date(), now=evening)
    seen: list[list[str]] = []

    def sixty_days(scope: Scope, lots: Sequence[Lot], at: datetime) -> list[Point]:
        seen.append([lot.code for lot in lots])
        return [outstanding(Matter.AGEING, "0 of 60 days are proven.", earliest=date(2026, 5, 9))]

    contributors.register_point("sixty days", sixty_days)
    gate = stands(dairy, make, evening)
    assert gate.not_before == date(2026, 5, 9)
    assert not gate.is_open
    assert not gate.waits_for_people
    assert seen == [[make.lot.code, "M260310-C1"]]


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
    # one up to the milk and one for it, moves of revision, versions, holds, deviations with steps and lots, records
    # with rulings, due checks, checks with products, measures, limits and their products; the places: moves, checks,
    # makes before in the vat, records and rulings; the days: events and six for how they stand; the description; the
    # intake: decisions, findings, expiry, deviations, checks, holds; samples, and the ageing clock with its rooms; what
    # instruments that were found out put in doubt
    with django_assert_max_num_queries(52):
        standing = stands(dairy, make, MORNING + 15 * HOUR)
    assert len(standing.in_the_way) > 7


def test_an_instrument_found_out_makes_what_it_showed_met_unproven_until_that_is_disposed_of(dairy: Dairy) -> None:
    make = made_and_met(dairy, at=MORNING)
    evening = MORNING + 12 * HOUR
    before = [one for one in stands(dairy, make, evening).points if one.is_met and "pH at most 5.40" in one.words]
    assert len(before) == 1
    calibration.instrument_calibrate(
        scope=dairy.maker, calibration_id=uuid4(), instrument_id=dairy.ph_meter.pk, method="buffers",
        performed_at=evening, valid_until=date(2026, 3, 11), buffer_temperature="25", now=evening,
        points=[calibration.PointTyped(true="7.00", found="0", left="0"),
                calibration.PointTyped(true="4.00", found="140", left="177.5")],
    )  # fmt: skip
    gate = stands(dairy, make, evening)
    assert gate.is_held
    (doubted,) = [one for one in gate.points if "pH at most 5.40" in one.words]
    assert doubted.standing is Standing.UNPROVEN
    deviation = Deviation.objects.get()
    assert f"It is unproven until {deviation.reference} is closed." in doubted.words
    settle(dairy, deviation, make, "release")
    after = stands(dairy, make, evening)
    assert not after.is_held
    assert [one.standing for one in after.points if "pH at most 5.40" in one.words] == [Standing.MET]

"""The clock of a batch: the law that asks, the rooms it was in, what was read there, and what nobody read."""

import dataclasses
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.making.models import Make
from batches.ripening.ageing_clock import clock_of, clocks_of
from haccp.plan import actions as plan
from haccp.plan.library_store import library_load
from haccp.plan.rows import read_plan
from haccp.premises import actions as premises
from haccp.premises.models import Place
from haccp.science.ageing import Standing
from haccp.science.ruling import Ruling
from tests.dairy import HOUR, PASSWORD, Dairy, open_dairy
from tests.web.pages import signed_in

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
BEGUN = datetime(2026, 3, 4, 6, 0, tzinfo=UTC)


def raw_dairy(jurisdiction: str = "US") -> Dairy:
    dairy = open_dairy()
    type(dairy.owner.premises).objects.update(jurisdiction=jurisdiction)
    type(dairy.product).objects.update(treatment="raw")
    for scope in (dairy.owner, dairy.maker, dairy.helper):
        scope.premises.refresh_from_db()
    return dairy


def read_daily(dairy: Dairy, days: range, value: str = "11.5", without: tuple[int, ...] = ()) -> None:
    """The room at 08:00 local time, which in Dublin is UTC until 29 March 2026."""
    for day in days:
        if day not in without:
            at = BEGUN + day * DAY + 2 * HOUR
            dairy.save("Room 1 temperature", value, at=at, instrument_id=dairy.thermometer.id)


def batch_in_room(dairy: Dairy, after: timedelta = 2 * DAY) -> Make:
    make = dairy.start_make(at=BEGUN)
    dairy.event(make, "placed_in_room", at=BEGUN + after, place=dairy.room)
    return make


def test_days_count_where_they_were_read_and_a_missed_day_is_unproven() -> None:
    """21 CFR 133.182(a): 60 days at 35 °F or more. The hours are reckoned by hand."""
    dairy = raw_dairy()
    make = batch_in_room(dairy)
    read_daily(dairy, range(1, 11), without=(6,))
    at = BEGUN + 10 * DAY + 6 * HOUR
    clock = clock_of(dairy.owner.premises, make.lot_id, at)

    assert clock.counted_to == BEGUN + 10 * DAY + 2 * HOUR  # the last reading: the next comes in time
    assert clock.governing is not None
    # In the vat 48 h; from day 2 06:00 to day 5 08:00 74 h; day 5 to day 7 unread; from there 72 h
    assert [(one.standing, one.length_s / 3600) for one in clock.governing.stretches] == [
        (Standing.UNPROVEN, 48.0),
        (Standing.PROVEN, 74.0),
        (Standing.UNPROVEN, 48.0),
        (Standing.PROVEN, 72.0),
    ]
    assert clock.earliest_release_at == clock.counted_to + timedelta(days=60, hours=-146)
    assert clock.governing.if_all_proven_at == BEGUN + 60 * DAY
    assert clock.ruling is Ruling.AWAITED
    assert not clock.is_met
    assert "21 CFR 133.182(a)" in clock.sentence

    # When the next reading is overdue, the time since the last one is unproven, and the date moves
    late = clock_of(dairy.owner.premises, make.lot_id, BEGUN + 13 * DAY)
    assert late.counted_to == BEGUN + 13 * DAY
    assert late.earliest_release_at == late.counted_to + timedelta(days=60, hours=-146)

    # Asked of the past, a later reading proves what lay before it
    past = clock_of(dairy.owner.premises, make.lot_id, BEGUN + 4 * DAY + 12 * HOUR)
    assert past.governing is not None
    assert past.governing.proven_s == (2 * DAY + 12 * HOUR).total_seconds()


def test_the_clock_moves_with_the_cheese_and_too_cold_is_lost() -> None:
    dairy = raw_dairy()
    cold = premises.place_add(scope=dairy.owner, name="Cold room", kind=Place.Kind.COLD_STORE, walking_order=3)
    make = batch_in_room(dairy)
    read_daily(dairy, range(1, 6))
    read_daily(dairy, range(6, 9), "0.5")
    dairy.event(make, "placed_in_room", at=BEGUN + 8 * DAY + 2 * HOUR, place=cold)
    clock = clock_of(dairy.owner.premises, make.lot_id, BEGUN + 9 * DAY).governing
    assert clock is not None

    assert {one.room for one in clock.stretches} == {"Vat 1", "Room 1", "Cold room"}
    assert clock.stretches[-1].room == "Cold room"
    assert clock.stretches[-1].standing is Standing.UNPROVEN  # nobody reads it
    lost = [one for one in clock.stretches if one.standing is Standing.LOST]
    assert len(lost) == 1
    assert lost[0].ended_at == BEGUN + 8 * DAY + 2 * HOUR
    # From 11.5 to 0.5 °C in 24 h: below 35 °F (1.667 °C, or 1.7 as rounded) after 21.4 h at the latest
    assert 48 + 2.4 < lost[0].length_s / 3600 < 48 + 2.7


def test_an_unfit_thermometer_proves_nothing() -> None:
    dairy = raw_dairy()
    type(dairy.thermometer).objects.filter(pk=dairy.thermometer.pk).update(calibration_valid_until="2026-03-01")
    make = batch_in_room(dairy)
    read_daily(dairy, range(1, 4))
    clock = clock_of(dairy.owner.premises, make.lot_id, BEGUN + 3 * DAY + 2 * HOUR).governing
    assert clock is not None
    assert clock.proven_s == 0
    assert "ran out" in clock.stretches[-1].sentence


def test_the_library_s_law_counts_a_room_at_just_35_degrees_fahrenheit() -> None:
    """35 °F is 5/3 °C: NIST SP 811 (2008), appendix B.8."""
    library_load(at=BEGUN)
    dairy = raw_dairy()
    type(dairy.thermometer).objects.update(expanded_uncertainty=0)
    make = batch_in_room(dairy)
    for day in range(1, 4):
        dairy.save("Room 1 temperature", ("35", "°F"), at=BEGUN + day * DAY + 2 * HOUR,
                   instrument_id=dairy.thermometer.id)  # fmt: skip
    clock = clock_of(dairy.owner.premises, make.lot_id, BEGUN + 3 * DAY + 2 * HOUR)
    # Blue cheese counts 60 days whatever the temperature; a cheese of no stated family is held to every rule
    assert {(one.rule.days, one.rule.lowest_c is None) for one in clock.clocks} == {(60.0, True), (60.0, False)}
    assert clock.governing is not None
    assert clock.governing.rule.lowest_c == pytest.approx(5 / 3, abs=1e-12)
    assert clock.governing.proven_s == 26 * 3600


def test_what_the_plan_states_binds_beside_the_law() -> None:
    dairy = raw_dairy("EU")  # Regulation (EC) 853/2004 names no age (from memory)
    first = batch_in_room(dairy)
    read_daily(dairy, range(1, 5))
    at = BEGUN + 4 * DAY + 3 * HOUR
    assert clock_of(dairy.owner.premises, first.lot_id, at).clocks == ()
    assert clock_of(dairy.owner.premises, first.lot_id, at).is_met

    draft = plan.revision_copy(scope=dairy.owner, change_summary="Ageing stated.", at=BEGUN)
    [described] = read_plan(draft).descriptions
    stated = dataclasses.replace(described, ageing_days=1, ageing_temperature_c=8.0)
    plan.part_change(scope=dairy.owner, revision=draft, part=stated)
    plan.revision_approve(scope=dairy.owner, revision=draft, effective_from=BEGUN + DAY, password=PASSWORD, at=BEGUN)
    make = dairy.start_make(at=BEGUN + 2 * DAY)
    dairy.event(make, "placed_in_room", at=BEGUN + 2 * DAY, place=dairy.room)
    clock = clock_of(dairy.owner.premises, make.lot_id, at)
    assert clock.governing is not None
    assert clock.governing.reached_at == BEGUN + 3 * DAY
    assert clock.is_met
    assert "the dairy's own plan" in clock.sentence


def test_pages_show_the_clock_drawn_and_in_words_at_a_constant_cost() -> None:
    dairy = raw_dairy()
    make = batch_in_room(dairy)
    read_daily(dairy, range(1, 4))
    now = BEGUN + 3 * DAY + 3 * HOUR
    client = signed_in(dairy.helper)
    with time_machine.travel(now, tick=False):
        page = client.get(reverse("making:batch", args=[make.pk])).content.decode()
        assert "Earliest release: <strong>5 May 2026" in page  # 26 h of 60 days are proven
        assert "Vat 1 has no readings near enough to each other." in page
        assert f'id="ageing-{make.pk}-0-wide-title"' in page
        with CaptureQueriesContext(connection) as one:
            room = client.get(reverse("ripening:room", args=[dairy.room.pk])).content.decode()
        assert "release 5 May 2026" in room
        for n in range(1, 4):
            other = dairy.start_make(at=BEGUN + n * HOUR)
            dairy.event(other, "placed_in_room", at=BEGUN + 2 * DAY, place=dairy.room)
        with CaptureQueriesContext(connection) as many:
            client.get(reverse("ripening:room", args=[dairy.room.pk]))
        assert len(many) == len(one)
        assert clocks_of(dairy.owner.premises, [], now) == {}

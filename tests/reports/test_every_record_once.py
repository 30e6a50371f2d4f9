"""Every record in scope stands in exactly one row, in dairies made up at random from fixed seeds."""

import random
from datetime import UTC, date, datetime, timedelta
from uuid import UUID, uuid4

import pytest

from haccp.checks import actions as checks
from haccp.checks.models import MissedCheck, Record
from haccp.deviations.models import CorrectiveStep
from haccp.ledger.models import Entry
from haccp.lots.kinds import EventKind
from haccp.lots.models import LotEvent
from tests.dairy import Dairy
from tests.reports import history, reading
from tests.reports.conftest import MakePack

FIRST, LAST = date(2026, 3, 3), date(2026, 3, 6)
START, END = datetime(2026, 3, 3, tzinfo=UTC), datetime(2026, 3, 7, tzinfo=UTC)  # Dublin keeps UTC in winter


def live(dairy: Dairy, dice: random.Random) -> None:
    """Eight days around the period, each with something left out, done twice, amended, or amended to another day."""
    for n in range(8):
        day = history.FIRST_DAY - timedelta(days=1) + timedelta(days=n)
        checks.sweep(now=day + timedelta(hours=5))
        if dice.random() < 0.4:
            history.make_day(dairy, day, last_ph=dice.choice(["5.22", "5.39", "5.80"]))
        for _ in range(dice.choice([0, 1, 1, 3])):
            record = history.room_round(dairy, day, top=dice.choice(["11.0", "13.9", "16.0"]))
            while dice.random() < 0.4:
                shift = timedelta(days=dice.choice([-2, -1, 0, 0, 1]))
                record = checks.record_amend(
                    scope=dairy.maker,
                    record_id=uuid4(),
                    amends_id=record.id,
                    entries=dairy.entries("Room 1 temperature", "12.1", "11.8"),
                    observed_at=record.observed_at + shift,
                    reason="Wrong day, or wrong shelf.",
                    now=day + timedelta(days=2),
                ).record
        if dice.random() < 0.7:
            history.cleaning(dairy, day, chlorine=dice.choice(["120", "80"]))
        checks.sweep(now=day + timedelta(hours=22))
    if dice.random() < 0.5:
        history.give_reasons(dairy, "Away.", day + timedelta(days=1))


def expected(dairy: Dairy) -> set[UUID]:
    """By brute force: each record of the period, and whatever is tied to it by amendments."""
    everything = {record.id: record for record in Record.objects.for_premises(dairy.owner.premises)}
    ties = [(record.id, record.amends_id) for record in everything.values() if record.amends_id]
    wanted = {record.id for record in everything.values() if START <= record.observed_at < END}
    for _ in everything:
        wanted |= {b for a, b in ties if a in wanted} | {a for a, b in ties if b in wanted}
    return wanted


def numbers(dairy: Dairy, subjects: set[str]) -> set[int]:
    log_id = dairy.owner.premises.log_id
    return set(Entry.objects.filter(log_id=log_id, subject__in=subjects).values_list("index", flat=True))


@pytest.mark.parametrize("seed", range(6))
def test_every_record_in_scope_stands_in_one_row_and_no_other_record_does(
    dairy: Dairy, make_pack: MakePack, seed: int
) -> None:
    live(dairy, random.Random(seed))  # noqa: S311
    pack = make_pack(dairy.owner, first=FIRST, last=LAST)

    in_rows = reading.rows(pack)
    assert set(in_rows.values()) == {1}
    records = numbers(dairy, {f"record:{one}" for one in expected(dairy)})
    all_records = numbers(dairy, {f"record:{one}" for one in Record.objects.values_list("id", flat=True)})
    assert set(in_rows) & all_records == records
    assert pack.contents["records"] == len(records)

    missed = MissedCheck.objects.filter(due__due_at__gte=START, due__due_at__lt=END)
    assert numbers(dairy, {f"missed:{one.id}" for one in missed}) == set(in_rows) & numbers(
        dairy, {f"missed:{one.id}" for one in MissedCheck.objects.all()}
    )


def test_every_step_and_signature_of_a_deviation_stands_in_one_row(dairy: Dairy, make_pack: MakePack) -> None:
    history.eventful_week(dairy)
    in_rows = reading.rows(make_pack(dairy.owner))
    steps = numbers(dairy, {f"step:{one}" for one in CorrectiveStep.objects.values_list("id", flat=True)})
    assert steps
    assert steps <= set(in_rows)
    assert set(in_rows.values()) == {1}


def test_an_amendment_stands_under_its_original_with_its_reason(dairy: Dairy, make_pack: MakePack) -> None:
    original = history.room_round(dairy, history.FIRST_DAY, top="11.0")
    change = history.amend_room(dairy, original, top="11.9", reason="Read the wrong shelf first.")
    first, second = (Entry.objects.get(subject=f"record:{one.id}").index for one in (original, change))
    found = reading.text(make_pack(dairy.owner))
    lines = found[found.index(f"#{first} ") :]
    assert lines.index("Top shelf: 11.0 °C") < lines.index(f"Amended by entry {second}; this is the original.")
    assert lines.index(f"#{second} ") < lines.index("Top shelf: 11.9 °C")
    assert lines.index("Top shelf: 11.9 °C") < lines.index(f"Amends entry {first}. Reason: Read the wrong shelf first.")


def test_an_event_whose_time_was_corrected_stands_beside_the_correction(dairy: Dairy, make_pack: MakePack) -> None:
    at = history.FIRST_DAY + timedelta(hours=7)
    make = dairy.start_make(at=at)
    dairy.event(make, EventKind.STARTER_ADDED, at=at + timedelta(hours=1))
    event = make.lot.events.get(kind=EventKind.STARTER_ADDED)
    checks.event_correct(
        scope=dairy.maker, event_id=uuid4(), corrects_id=event.id, occurred_at=at + timedelta(minutes=50),
        reason="The clock on the wall was fast.", now=at + timedelta(hours=2),
    )  # fmt: skip
    found = " ".join(reading.text(make_pack(dairy.owner)).split())
    first, second = (
        Entry.objects.get(subject=f"lot_event:{one.id}").index
        for one in LotEvent.every.filter(kind=event.kind).order_by("recorded_at")
    )
    assert f"Corrected by entry {second}; this is the original." in found
    assert f"Corrects entry {first}: The clock on the wall was fast." in found


def test_no_row_is_cut_between_pages(dairy: Dairy, make_pack: MakePack) -> None:
    """Each row's number is on the page that says the last thing about it."""
    for n in range(60):
        at = history.FIRST_DAY + timedelta(hours=9, minutes=n)
        dairy.save("Room 1 temperature", "11.0", at=at, instrument_id=dairy.thermometer.id, note=f"note-{n}-end")
    pack = make_pack(dairy.owner)
    by_page = reading.pages(pack)
    for record in Record.objects.all():
        index = Entry.objects.get(subject=f"record:{record.id}").index
        (page,) = [words for words in by_page if f"#{index} " in words]
        assert record.note in page
    heads = [page for page in by_page if "note-" in page]
    assert len(heads) > 1
    assert all(row_title in page for page in heads for row_title in ("Entry", "Observed", "Ruling"))

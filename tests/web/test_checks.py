"""Doing a check: the form, what it refuses, and what it answers."""

from collections.abc import Callable
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from haccp.checks import actions as checks
from haccp.checks.models import DueCheck, Record
from haccp.deviations.models import Deviation
from haccp.premises import actions as premises
from haccp.premises.scope import Scope
from tests.dairy import Dairy
from tests.web.conftest import NOW, hidden, page_of


@pytest.fixture
def room(dairy: Dairy) -> DueCheck:
    return DueCheck.objects.get(premises=dairy.owner.premises, check_due__name="Room 1 temperature", due_at__lte=NOW)


def typed(dairy: Dairy, page: str, top: str, **more: str) -> dict[str, str]:
    """The form of the room as a browser sends it."""
    first, second = dairy.check("Room 1 temperature").measures.all()
    return {
        "record_id": hidden(page, "record_id"),
        f"measure-{first.id}": top,
        f"unit-{first.id}": "°C",
        f"measure-{second.id}": "",
        f"unit-{second.id}": "°C",
        "instrument": str(dairy.thermometer.id),
        "observed_at": "2026-03-04T08:15",
        "note": "Door was shut.",
        **more,
    }


def test_a_saved_check_answers_with_its_ruling_and_the_next_one(dairy: Dairy, maker: Client, room: DueCheck) -> None:
    milk = dairy.receive_milk(at=NOW)
    url = f"/checks/{room.id}/"

    answer = maker.post(url, typed(dairy, page_of(maker.get(url)), "11,5"), follow=True)

    record = Record.objects.get()
    assert (record.due_id, record.recorded_by_id, record.note) == (room.id, dairy.maker.user.id, "Door was shut.")
    assert answer.redirect_chain == [(f"/records/{record.id}/?saved=1", 302)]
    page = page_of(answer)
    assert "Saved. What the limit says" in page
    assert "<strong>met</strong>" in page
    assert f"Next in this round: Milk acceptance · {milk.lot.code}" in page


def test_a_breach_says_what_the_plan_prescribes_and_names_the_deviation(
    dairy: Dairy, maker: Client, room: DueCheck
) -> None:
    url = f"/checks/{room.id}/"

    page = page_of(maker.post(url, typed(dairy, page_of(maker.get(url)), "16.5"), follow=True))

    assert "<strong>breached</strong>" in page
    assert "Move the cheeses to the other room; find out since when it was warm." in page
    assert f"deviation {Deviation.objects.get().reference}" in page


def test_what_cannot_be_read_is_said_beside_its_field_and_nothing_typed_is_lost(
    dairy: Dairy, maker: Client, room: DueCheck
) -> None:
    url = f"/checks/{room.id}/"
    sent = typed(dairy, page_of(maker.get(url)), "11.O", note="The <door> was open.")

    answer = maker.post(url, sent)

    page = page_of(answer)
    assert answer.status_code == 422
    assert not Record.objects.exists()
    assert "“11.O” is not a number." in page
    assert 'value="11.O"' in page
    assert "The &lt;door&gt; was open." in page
    assert hidden(page, "record_id") == sent["record_id"]
    assert f'value="{dairy.thermometer.id}" selected' in page
    assert 'value="2026-03-04T08:15"' in page


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("observed_at", "2026-03-04T09:15", "That time is in the future"),
        ("observed_at", "", "Say when you looked."),
        ("instrument", "", "Choose the instrument that you measured with."),
        ("record_id", "not-an-id", "valid UUID"),
    ],
)
def test_each_entry_that_is_wrong_has_its_sentence(
    dairy: Dairy, maker: Client, room: DueCheck, field: str, value: str, sentence: str
) -> None:
    url = f"/checks/{room.id}/"

    answer = maker.post(url, typed(dairy, page_of(maker.get(url)), "11.5", **{field: value}))

    assert answer.status_code == 422
    assert sentence in page_of(answer)
    assert not Record.objects.exists()


def test_an_instrument_of_another_dairy_is_no_choice(
    dairy: Dairy, maker: Client, room: DueCheck, stranger: Scope
) -> None:
    other = premises.instrument_add(scope=stranger, name="Theirs", kind="thermometer", expanded_uncertainty=0.1)
    url = f"/checks/{room.id}/"

    answer = maker.post(url, typed(dairy, page_of(maker.get(url)), "11.5", instrument=str(other.id)))

    assert answer.status_code == 422
    assert not Record.objects.exists()


def test_a_double_tap_is_one_record(dairy: Dairy, maker: Client, room: DueCheck) -> None:
    url = f"/checks/{room.id}/"
    sent = typed(dairy, page_of(maker.get(url)), "11.5")

    first, second = maker.post(url, sent), maker.post(url, sent)

    assert first.headers["Location"] == second.headers["Location"]
    assert Record.objects.count() == 1


def test_a_check_that_somebody_else_did_meanwhile_keeps_what_was_typed(
    dairy: Dairy, maker: Client, room: DueCheck, signed_in: Callable[[Scope], Client]
) -> None:
    url = f"/checks/{room.id}/"
    sent = typed(dairy, page_of(maker.get(url)), "11.5")
    helper = signed_in(dairy.helper)
    helper.post(url, typed(dairy, page_of(helper.get(url)), "11.7"))

    answer = maker.post(url, sent)

    page = page_of(answer)
    assert answer.status_code == 409
    assert "Hanna Helper has already done this check." in page
    assert f"/records/{Record.objects.get().id}/" in page
    assert 'value="11.5"' in page
    # Whoever opens it later is led to the record.
    assert maker.get(url).headers["Location"] == f"/records/{Record.objects.get().id}/"


def test_the_instrument_last_used_for_the_check_is_chosen(dairy: Dairy, maker: Client, room: DueCheck) -> None:
    second = premises.instrument_add(scope=dairy.owner, name="Second", kind="thermometer", expanded_uncertainty=0.2)
    url = f"/checks/{room.id}/"
    assert " selected" not in page_of(maker.get(url)).split('name="instrument"')[1].split("</select>")[0].replace(
        'value="" selected', ""
    )

    dairy.save("Room 1 temperature", "11", at=NOW - timedelta(hours=2), instrument_id=second.id)

    assert f'value="{second.id}" selected' in page_of(maker.get(url))


def test_a_person_who_reads_fahrenheit_is_offered_it_first(dairy: Dairy, maker: Client, room: DueCheck) -> None:
    maker.post("/preferences/", {"temperature_unit": "°F", "volume_unit": "L", "mass_unit": "kg"})

    page = page_of(maker.get(f"/checks/{room.id}/"))

    assert 'value="°F" selected' in page
    # 9 °C and 13 °C: NIST SP 811, appendix B.9.
    assert "Target: 48.2 °F to 55.4 °F" in page


def test_a_late_entry_stands_beside_the_missed_check(
    dairy: Dairy, maker: Client, room: DueCheck, clock: time_machine.Traveller
) -> None:
    clock.move_to(NOW + timedelta(hours=3))
    checks.sweep(now=NOW + timedelta(hours=3))
    url = f"/checks/{room.id}/"
    page = page_of(maker.get(url))
    assert "was flagged as missed at 10:00" in page
    # Only the person knows when it was done, so nothing is put there for them.
    assert 'name="observed_at" value' not in page

    answer = page_of(maker.post(url, typed(dairy, page, "11.5"), follow=True))

    assert "Late entry:</strong> 3 h 5 min after it was observed" in answer
    assert Record.objects.get().due.missed is not None  # type: ignore[union-attr]


def test_an_extra_check_of_a_batch_needs_no_due_check(dairy: Dairy, maker: Client) -> None:
    make = dairy.start_make(at=NOW - timedelta(hours=3))
    dairy.event(make, "starter_added", at=NOW - timedelta(hours=2))
    check = dairy.check("pH of the curd")
    url = f"/checks/extra/{check.id}/?lot={make.lot_id}"
    measure = check.measures.get()

    maker.post(
        url,
        {
            "record_id": hidden(page_of(maker.get(url)), "record_id"),
            f"measure-{measure.id}": "6.1",
            f"unit-{measure.id}": "pH",
            "instrument": str(dairy.ph_meter.id),
            "observed_at": "2026-03-04T08:10",
        },
    )

    record = Record.objects.get()
    assert (record.lot_id, record.due) == (make.lot_id, None)


@pytest.mark.parametrize("lot", ["?lot=nonsense", "?lot=00000000-0000-0000-0000-000000000000"])
def test_an_extra_check_of_no_lot_of_ours_is_not_found(dairy: Dairy, maker: Client, lot: str) -> None:
    assert maker.get(f"/checks/extra/{dairy.check('pH of the curd').id}/{lot}").status_code == 404


def test_an_hour_that_the_clock_showed_twice_asks_which(
    dairy: Dairy, clock: time_machine.Traveller, signed_in: Callable[[Scope], Client]
) -> None:
    # Summer time ends at 01:00 UTC on the last Sunday of October: Directive 2000/84/EC, article 3.
    clock.move_to("2026-10-25T09:00:00+00:00")
    maker = signed_in(dairy.maker)
    url = f"/checks/extra/{dairy.check('Room 1 temperature').id}/"
    sent = typed(dairy, page_of(maker.get(url)), "11.5", observed_at="2026-10-25T01:30")

    refused = page_of(maker.post(url, sent))
    assert "The clock showed 01:30 twice" in refused
    assert "the second time, after the clock was put back" in refused

    maker.post(url, {**sent, "observed_at_offset": "+00:00"})
    assert Record.objects.get().observed_at.isoformat() == "2026-10-25T01:30:00+00:00"

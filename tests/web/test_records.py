"""A record's page, its amendments, and checks that nobody did."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.test import Client

from haccp.checks import actions as checks
from haccp.checks.models import DueCheck, MissedCheck, Record
from haccp.deviations.models import Deviation
from haccp.ledger.models import Entry
from haccp.premises.scope import Scope
from tests.dairy import Dairy
from tests.web.conftest import NOW, hidden, page_of


@pytest.fixture
def saved(dairy: Dairy) -> Record:
    return dairy.save(
        "Room 1 temperature", ("51,8", "°F"), at=NOW - timedelta(minutes=5), instrument_id=dairy.thermometer.id
    ).record


def amendment(dairy: Dairy, page: str, top: str, reason: str) -> dict[str, str]:
    first, second = dairy.check("Room 1 temperature").measures.all()
    return {
        "record_id": hidden(page, "record_id"),
        "reason": reason,
        f"measure-{first.id}": top,
        f"unit-{first.id}": "°C",
        f"measure-{second.id}": "",
        f"unit-{second.id}": "°C",
        "instrument": str(dairy.thermometer.id),
        "observed_at": "2026-03-04T08:15",
    }


def test_a_record_shows_what_was_typed_and_what_it_means(dairy: Dairy, maker: Client, saved: Record) -> None:
    page = page_of(maker.get(f"/records/{saved.id}/"))

    # 51.8 °F is 11 °C: NIST SP 811, appendix B.9.
    assert "11.0 °C" in page
    assert "typed: 51,8 °F" in page
    assert "Thermometer" in page
    assert "Revision 1 of the plan" in page


def test_a_record_says_by_whose_clock_it_was_saved(maker: Client, saved: Record, settings: Any) -> None:
    assert "by the service’s clock</span>" in page_of(maker.get(f"/records/{saved.id}/"))
    settings.TIME_SOURCE = "NTP, time.weir.example"
    assert "by the service’s clock (NTP, time.weir.example)" in page_of(maker.get(f"/records/{saved.id}/"))


def test_a_record_names_its_entry_in_the_ledger(maker: Client, saved: Record) -> None:
    entry = Entry.objects.get(subject=f"record:{saved.id}")

    page = page_of(maker.get(f"/records/{saved.id}/"))

    assert f"<dt>Ledger entry</dt><dd>{entry.index}</dd>" in page
    assert entry.leaf_hash[:16] in page


def test_an_amendment_starts_from_what_was_typed_and_shows_both_versions(
    dairy: Dairy, maker: Client, saved: Record
) -> None:
    url = f"/records/{saved.id}/amend/"
    form = page_of(maker.get(url))
    assert 'value="51,8"' in form
    assert 'value="°F" selected' in form

    answer = maker.post(url, amendment(dairy, form, "11.4", "Misread the display."), follow=True)

    amended = Record.objects.get(amends=saved)
    page = page_of(answer)
    assert answer.redirect_chain[0][0] == f"/records/{amended.id}/?saved=1"
    assert "<strong>Amended because:</strong> Misread the display." in page
    assert f'href="/records/{saved.id}/"' in page
    first = page_of(maker.get(f"/records/{saved.id}/"))
    assert "This version was amended." in first
    assert "Amend this record" not in first


def test_an_amendment_without_a_reason_keeps_what_was_typed(dairy: Dairy, maker: Client, saved: Record) -> None:
    url = f"/records/{saved.id}/amend/"

    answer = maker.post(url, amendment(dairy, page_of(maker.get(url)), "11.4", "  "))

    assert answer.status_code == 422
    assert "Say why the record is amended" in page_of(answer)
    assert 'value="11.4"' in page_of(answer)
    assert Record.objects.count() == 1


def test_what_was_amended_meanwhile_is_not_amended_again(dairy: Dairy, maker: Client, saved: Record) -> None:
    url = f"/records/{saved.id}/amend/"
    sent = amendment(dairy, page_of(maker.get(url)), "11.4", "Misread.")
    checks.record_amend(
        scope=dairy.owner,
        record_id=uuid4(),
        amends_id=saved.id,
        entries=dairy.entries("Room 1 temperature", "11.6"),
        observed_at=saved.observed_at,
        reason="The owner was quicker.",
    )

    answer = maker.post(url, sent)

    assert answer.status_code == 409
    assert "amended meanwhile" in page_of(answer)
    assert f"/records/{Record.objects.get(amends=saved).id}/" in page_of(answer)
    assert 'value="11.4"' in page_of(answer)


def test_a_reader_is_not_offered_to_amend(saved: Record, reviewer: Scope, signed_in: Callable[[Scope], Client]) -> None:
    client = signed_in(reviewer)

    assert "Amend this record" not in page_of(client.get(f"/records/{saved.id}/"))
    assert client.get(f"/records/{saved.id}/amend/").status_code == 403


@pytest.fixture
def missed(dairy: Dairy, clock: time_machine.Traveller) -> MissedCheck:
    clock.move_to(NOW + timedelta(hours=2))
    checks.sweep(now=NOW + timedelta(hours=2))
    return MissedCheck.objects.get(due__check_due__name="Room 1 temperature", due__premises=dairy.owner.premises)


def test_a_missed_check_says_what_followed_and_takes_the_reason_once(
    dairy: Dairy, maker: Client, missed: MissedCheck
) -> None:
    url = f"/missed/{missed.id}/"
    page = page_of(maker.get(url))
    assert f"deviation {Deviation.objects.get(missed=missed).reference}" in page
    assert f'href="/checks/{missed.due_id}/"' in page

    refused = maker.post(url, {"text": " "})
    assert refused.status_code == 422
    assert "Say in a few words why it was not done." in page_of(refused)

    assert "Thermometer was at calibration." in page_of(
        maker.post(url, {"text": "Thermometer was at calibration."}, follow=True)
    )
    second = maker.post(url, {"text": "I was ill."})
    assert second.status_code == 409
    assert "Somebody has already given the reason." in page_of(second)
    assert "I was ill." in page_of(second)


def test_a_missed_check_that_guards_no_critical_limit_opens_no_deviation(
    dairy: Dairy, maker: Client, clock: time_machine.Traveller
) -> None:
    cleaning = DueCheck.objects.get(check_due__name="Vat 1 cleaned", due_at__date=NOW.date())
    clock.move_to(cleaning.grace_ends_at)
    checks.sweep(now=cleaning.grace_ends_at)

    page = page_of(maker.get(f"/missed/{cleaning.missed.id}/"))

    assert "it opened" not in page
    assert "Record the reason" in page

"""The calendar feed (RFC 5545), read back by the icalendar library and by dateutil; and its secret address."""

from datetime import timedelta
from uuid import uuid4

import icalendar
import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from haccp.checks import actions as checks
from haccp.checks.actions.plan_due import plan_due_for_premises
from haccp.notices import actions as notices
from haccp.notices.feed import feed
from haccp.notices.models import CalendarAddress
from tests.dairy import OPENED_AT, PASSWORD, open_dairy

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
NOW = OPENED_AT.replace(month=3, day=25, hour=10)  # the clock changes on 29 March in Dublin


def events_of(content: bytes) -> list[icalendar.Event]:
    calendar = icalendar.Calendar.from_ical(content)
    assert calendar["VERSION"] == "2.0"
    assert calendar["PRODID"]
    return list(calendar.walk("VEVENT"))


def test_the_feed_shows_a_person_s_checks_as_rfc_5545_has_them() -> None:
    dairy = open_dairy()
    make = dairy.start_make(at=NOW)
    dairy.event(make, "starter_added", at=NOW)
    plan_due_for_premises(premises=dairy.owner.premises, now=NOW)
    content = feed(dairy.maker.membership, NOW)
    # RFC 5545, 3.1: lines end in CRLF and have 75 octets at most.
    lines = content.split(b"\r\n")
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert max(map(len, lines)) <= 75
    events = events_of(content)
    # 3.6.1 and 3.8.4.7: each event has a stamp and a globally unique identifier.
    assert all(event["DTSTAMP"] and event["UID"] for event in events)
    assert len({str(event["UID"]) for event in events}) == len(events)
    room = [event["DTSTART"].dt for event in events if event["SUMMARY"] == "Room 1 temperature"]
    assert {(at.astimezone(dairy.owner.premises.zone).hour, at.hour) for at in room} == {(8, 8), (8, 7)}
    assert len(room) == 22
    ph = [event for event in events if str(event["SUMMARY"]).startswith("pH of the curd")]
    assert [event["DTSTART"].dt - NOW for event in ph] == [timedelta(hours=n) for n in (2, 4, 6)]
    assert str(ph[0]["SUMMARY"]).endswith(make.lot.code)
    # The same again has the same identifiers, so that a calendar program updates and does not double.
    again = {str(event["UID"]) for event in events_of(feed(dairy.maker.membership, NOW + timedelta(minutes=5)))}
    assert again == {str(event["UID"]) for event in events}

    # What somebody keeps is in their calendar only, and in that of whoever stands in while they are away.
    checks.keeper_set(
        scope=dairy.owner,
        keeper_id=uuid4(),
        check_id=dairy.check("Room 1 temperature").id,
        membership_id=dairy.maker.membership.id,
        now=NOW,
    )
    today = dairy.owner.premises.local_date(NOW)
    checks.absence_add(
        scope=dairy.maker,
        absence_id=uuid4(),
        membership_id=dairy.maker.membership.id,
        first=today + 3 * DAY,
        last=today + 5 * DAY,
        stand_in_id=dairy.helper.membership.id,
        now=NOW,
    )

    def days(scope) -> list[int]:  # type: ignore[no-untyped-def]
        found = events_of(feed(scope.membership, NOW))
        return [e["DTSTART"].dt.day for e in found if str(e["SUMMARY"]).startswith("Room 1 temperature")]

    assert days(dairy.helper) == [28, 29, 30]
    assert not {28, 29, 30} & set(days(dairy.maker)[:6])
    assert days(dairy.owner) == []


def test_the_address_is_secret_can_be_ended_and_shows_nothing_to_others() -> None:
    dairy = open_dairy()
    with time_machine.travel(NOW, tick=False):
        browser = Client()
        browser.force_login(dairy.maker.user)
        answer = browser.post(reverse("notices:calendar_make"))
        row = CalendarAddress.objects.get()
        address = answer.context["new_address"]
        token = address.rpartition("/")[2].removesuffix(".ics")
        assert len(token) >= 43  # 256 bits
        assert token not in row.token_sha256
        nobody = Client()
        read = nobody.get(f"/calendar-feed/{token}.ics")
        assert read.status_code == 200
        assert read["Content-Type"].startswith("text/calendar")
        assert events_of(read.content)
        assert address not in browser.get(reverse("notices:notices")).content.decode()
        assert nobody.get(f"/calendar-feed/{token[:-1]}x.ics").status_code == 404
        # A new one ends the old one; ending it ends it; a leaver's answers no more.
        fresh = notices.calendar_address_make(scope=dairy.maker)
        assert nobody.get(f"/calendar-feed/{token}.ics").status_code == 404
        assert nobody.get(f"/calendar-feed/{fresh}.ics").status_code == 200
        browser.post(reverse("notices:calendar_revoke"))
        assert nobody.get(f"/calendar-feed/{fresh}.ics").status_code == 404
        helper = notices.calendar_address_make(scope=dairy.helper)
        type(dairy.helper.membership).objects.filter(pk=dairy.helper.membership.pk).update(left_at=NOW)
        assert nobody.get(f"/calendar-feed/{helper}.ics").status_code == 404
    assert PASSWORD

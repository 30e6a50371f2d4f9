"""Alerts, escalation, quiet hours, digests, retries, and that nobody is told twice."""

from datetime import UTC, datetime, time, timedelta
from importlib import import_module
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from hypothesis import given
from hypothesis import strategies as st

from haccp.checks import actions as checks
from haccp.deviations import actions as deviations
from haccp.deviations.models import Deviation
from haccp.ledger import queries as ledger
from haccp.ledger.head import read_fingerprint
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.notices import actions as notices
from haccp.notices.backoff import MOST_ATTEMPTS, pause_after
from haccp.notices.models import Alert, Delivery, Notice, Sent, Wishes
from haccp.notices.quiet import next_at, told_at
from haccp.notices.tasks import tell
from tests.dairy import OPENED_AT, Dairy, open_dairy

HOUR, MINUTE, DAY = timedelta(hours=1), timedelta(minutes=1), timedelta(days=1)
NOON = OPENED_AT.replace(hour=12) + DAY


def too_warm(dairy: Dairy, at: datetime) -> Deviation:
    dairy.save("Room 1 temperature", "17", at=at, instrument_id=dairy.thermometer.id)
    return Deviation.objects.latest("opened_at")


def wish(dairy: Dairy, who: str, now: datetime = OPENED_AT, **changed: Any) -> Wishes:
    wishes: dict[str, Any] = {
        "alerts_by_email": True,
        "alerts_by_push": False,
        "digest_by_email": False,
        "digest_at": time(6, 30),
        "quiet_from": None,
        "quiet_until": None,
        "wake_for_critical": False,
    }
    return notices.wishes_set(scope=getattr(dairy, who), now=now, **(wishes | changed))


def told() -> list[tuple[str, str]]:
    return [(message.to[0].split("@")[0], message.subject) for message in mail.outbox]


@pytest.mark.django_db
def test_an_alert_reaches_each_once_and_goes_further_until_somebody_reacts() -> None:
    dairy = open_dairy()
    for who in ("owner", "maker", "helper"):
        wish(dairy, who)
    wish(dairy, "helper", alerts_by_email=False)
    deviation = too_warm(dairy, NOON)
    for _ in range(3):  # every run finds the same: told once
        notices.raise_alerts(now=NOON + 2 * MINUTE)
        notices.deliver(now=NOON + 2 * MINUTE)
    assert sorted(told()) == [
        (who, f"Critical limit, Weir Farm Dairy: {deviation.reference}") for who in ("maker", "owner")
    ]
    assert "What the plan says to do: Move the cheeses" in str(mail.outbox[0].body)
    assert Notice.objects.filter(membership=dairy.helper.membership, deliveries__isnull=True).count() == 1

    # Nobody reacts for an hour: whoever manages; two hours more: everybody; then no more.
    for hours, expected in ((1, ["owner"]), (2, []), (3.1, ["maker", "owner"]), (9, []), (40, [])):
        mail.outbox.clear()
        notices.raise_alerts(now=NOON + hours * HOUR + 3 * MINUTE)
        notices.deliver(now=NOON + hours * HOUR + 3 * MINUTE)
        assert sorted(who for who, _ in told()) == expected, hours
        assert all(subject.startswith("Nobody has reacted yet") for _, subject in told())

    # A step that is recorded, or “I take care of it”, ends it.
    second, third = too_warm(dairy, NOON + DAY), too_warm(dairy, NOON + DAY + MINUTE)
    notices.raise_alerts(now=NOON + DAY + 2 * MINUTE)
    deviations.step_add(
        scope=dairy.maker, step_id=second.pk, deviation_id=second.pk, kind="cause", text="The door stood open."
    )
    notices.alert_take(scope=dairy.helper, deviation_id=third.pk, now=NOON + DAY + 5 * MINUTE)
    assert notices.alert_take(scope=dairy.maker, deviation_id=third.pk).taken_by == dairy.helper.user
    mail.outbox.clear()
    notices.raise_alerts(now=NOON + DAY + 5 * HOUR)
    assert not Notice.objects.filter(about__endswith=":1", about__contains=str(second.pk)).exists()
    assert not Notice.objects.filter(about__endswith=":1", about__contains=str(third.pk)).exists()
    assert set(Alert.objects.values_list("level", flat=True)) == {0, 2}
    report = verify_log(Log.objects.get(pk=dairy.owner.log_id))
    assert report.holds, report.problem
    assert Sent.objects.count() == 5


@pytest.mark.django_db
def test_quiet_hours_hold_an_alert_back_unless_the_person_wants_to_be_woken() -> None:
    dairy = open_dairy()
    quiet = {"quiet_from": time(21, 0), "quiet_until": time(5, 30)}
    wish(dairy, "owner", **quiet)
    wish(dairy, "maker", **quiet, wake_for_critical=True)
    wish(dairy, "helper", alerts_by_email=False)
    late = OPENED_AT.replace(hour=22, minute=10)  # Dublin keeps UTC in March
    too_warm(dairy, late)
    notices.raise_alerts(now=late + 2 * MINUTE)
    notices.deliver(now=late + 2 * MINUTE)
    assert [who for who, _ in told()] == ["maker"]
    notices.deliver(now=late.replace(hour=5, minute=29) + DAY)
    assert len(told()) == 1
    notices.deliver(now=late.replace(hour=5, minute=31) + DAY)
    assert [who for who, _ in told()] == ["maker", "owner"]


class Failing(EmailBackend):
    """A mail server that is down for a number of tries."""

    left = 0

    def send_messages(self, messages: Any) -> int:
        if Failing.left:
            Failing.left -= 1
            raise ConnectionRefusedError("connection refused")
        return int(super().send_messages(messages))


@pytest.mark.django_db
def test_a_failed_delivery_is_tried_again_with_growing_pauses_and_shown_and_at_last_given_up(settings: Any) -> None:
    settings.EMAIL_BACKEND = "tests.notices.test_being_told.Failing"
    dairy = open_dairy()
    wish(dairy, "maker")
    for who in ("owner", "helper"):
        wish(dairy, who, alerts_by_email=False)
    too_warm(dairy, NOON)
    notices.raise_alerts(now=NOON)
    Failing.left = 3
    tries = []
    for minute in range(40):
        left = Failing.left
        notices.deliver(now=NOON + minute * MINUTE)
        if Failing.left < left or (left == 0 and mail.outbox and tries[-1:] != ["sent"]):
            tries.append("sent" if mail.outbox else minute)
    assert tries == [0, 1, 3, "sent"]  # after 1, then 2, then 4 minutes
    assert len(mail.outbox) == 1
    delivery = Delivery.objects.get()
    assert mail.outbox[0].extra_headers["Message-ID"].startswith(f"<{delivery.pk}@")
    assert (delivery.attempts, delivery.sent_at) == (4, NOON + 7 * MINUTE)

    too_warm(dairy, NOON + DAY)
    notices.raise_alerts(now=NOON + DAY)
    Failing.left, now = 1000, NOON + DAY
    for _ in range(MOST_ATTEMPTS + 3):
        notices.deliver(now=now)
        now += 7 * HOUR
    given_up = Delivery.objects.get(given_up_at__isnull=False)
    assert given_up.attempts == MOST_ATTEMPTS
    assert "connection refused" in given_up.last_error
    assert len(mail.outbox) == 1


@pytest.mark.django_db
def test_a_worker_that_dies_between_claim_and_mail_or_runs_twice_loses_and_doubles_nothing() -> None:
    dairy = open_dairy()
    for who in ("owner", "helper"):
        wish(dairy, who, alerts_by_email=False)
    wish(dairy, "maker")
    too_warm(dairy, NOON)
    notices.raise_alerts(now=NOON)
    module = import_module("haccp.notices.actions.deliver")
    delivery = Delivery.objects.get()
    assert module._claim(delivery.pk, delivery.due_at, NOON)
    assert not module._claim(delivery.pk, delivery.due_at, NOON)  # another worker comes second
    assert notices.deliver(now=NOON + MINUTE) == 0  # it died here; its claim lasts ten minutes
    assert notices.deliver(now=NOON + 11 * MINUTE) == 1
    assert notices.deliver(now=NOON + 30 * MINUTE) == 0
    assert len(mail.outbox) == 1


@pytest.mark.django_db
def test_the_digest_comes_once_a_local_day_and_says_what_stands_open() -> None:
    dairy = open_dairy()
    for who in ("maker", "helper"):
        wish(dairy, who, alerts_by_email=False)
    wish(dairy, "owner", digest_by_email=True)
    too_warm(dairy, NOON)
    sweeps = [OPENED_AT.replace(hour=6, minute=0) + 3 * DAY + n * 10 * MINUTE for n in range(12)]
    checks.sweep(now=sweeps[0])
    for now in sweeps:
        notices.make_digests(now=now)
        notices.deliver(now=now)
    digest = next(message for message in mail.outbox if "checks" in message.subject)
    assert [message for message in mail.outbox if "checks" in message.subject] == [digest]
    assert digest.subject == "Weir Farm Dairy, Wednesday 4 March: 2 checks"
    for line in ("missed checks have no reason yet", "Room 1 temperature", "Vat 1 cleaned", "deviations are open"):
        assert line in digest.body, digest.body
    printed = read_fingerprint(digest.body.partition("recorded so far: ")[2].split()[0])
    assert printed.fits(ledger.head(dairy.owner.premises.log_id, size=printed.size))
    mail.outbox.clear()
    # The schedule stood still for days: one digest, of today.
    notices.make_digests(now=OPENED_AT + 30 * DAY + 2 * HOUR)
    notices.make_digests(now=OPENED_AT + 30 * DAY + 3 * HOUR)
    made = Notice.objects.filter(kind="digest", made_at__gte=OPENED_AT + 30 * DAY)
    assert made.count() <= 1
    assert tell.name == "notices.tell"


def test_pauses_grow_and_end() -> None:
    pauses = [pause_after(n) for n in range(1, MOST_ATTEMPTS + 1)]
    assert pauses[-1] is None
    kept = [pause for pause in pauses if pause is not None]
    assert kept == sorted(kept)
    assert kept[0] == MINUTE
    assert DAY < sum(kept, timedelta()) < 3 * DAY


@given(
    st.sampled_from(sorted(available_timezones())),
    st.integers(0, 15 * 366 * 24 * 60),
    st.integers(0, 24 * 60 - 1),
    st.integers(0, 24 * 60 - 1),
)
def test_nobody_is_told_in_quiet_hours_and_nothing_waits_for_longer_than_they_last(
    zone: str, minute: int, from_minute: int, until_minute: int
) -> None:
    """In every time zone of the database, across every change of the clock."""
    quiet_from, quiet_until = (time(*divmod(one, 60)) for one in (from_minute, until_minute))
    at, place = datetime(2020, 1, 1, tzinfo=UTC) + minute * MINUTE, ZoneInfo(zone)
    found = told_at(at, quiet_from=quiet_from, quiet_until=quiet_until, zone=place)
    assert at <= found <= at + timedelta(hours=26)
    assert told_at(at, quiet_from=None, quiet_until=quiet_until, zone=place) == at
    following = next_at(at, quiet_until, place)
    assert at < following <= at + timedelta(hours=49)

"""A person's checks as an iCalendar feed (RFC 5545), through the icalendar library."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from django.conf import settings
from django.urls import reverse
from icalendar import Calendar, Event

from haccp.checks.closed import calendar_of
from haccp.checks.cover import cover_of
from haccp.checks.models import DueCheck
from haccp.plan.models import Check, PlanRevision
from haccp.plan.queries import revision_in_force
from haccp.premises.models import Membership
from haccp.science.schedule import slots

LOOKS_BACK = timedelta(days=1)
LOOKS_AHEAD = timedelta(days=21)
LASTS = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class Entry:
    """One check at one time; place and how are for the calendar's fields of those names."""

    uid: str
    at: datetime
    until: datetime
    title: str
    place: str
    text: str
    path: str


def feed(membership: Membership, now: datetime) -> bytes:
    """The calendar: checks that this person keeps or stands in for, and those that are nobody's own.

    By the clock from the plan itself, three weeks ahead; those that follow from a batch or a use as they are due.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Curdward//Rounds//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", f"Rounds · {membership.premises.name}")
    calendar.add("x-wr-calname", f"Rounds · {membership.premises.name}")
    calendar.add("refresh-interval", timedelta(hours=1), parameters={"VALUE": "DURATION"})
    for entry in entries(membership, now):
        event = Event()
        event.add("uid", entry.uid)
        event.add("dtstamp", now.astimezone(UTC).replace(microsecond=0))
        event.add("dtstart", entry.at.astimezone(UTC))
        event.add("dtend", entry.until.astimezone(UTC))
        event.add("summary", entry.title)
        if entry.place:
            event.add("location", entry.place)
        event.add("description", entry.text)
        if settings.SITE_URL:
            event.add("url", settings.SITE_URL + entry.path)
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def entries(membership: Membership, now: datetime) -> list[Entry]:
    """In order of time; a constant number of queries."""
    premises = membership.premises
    start, end = now - LOOKS_BACK, now + LOOKS_AHEAD
    cover, found = cover_of(premises), []
    for check, slot_at, key, lot_code in [*_by_clock(membership, start, end, now), *_as_due(membership, start, end)]:
        doer = cover.doer(check, premises.local_date(slot_at))
        if doer.person is not None and doer.person.pk != membership.pk:
            continue
        if doer.why_nobody and doer.instead_of is not None and doer.instead_of.pk != membership.pk:
            continue
        for_whom = f" (for {doer.instead_of.user.name})" if doer.person and doer.instead_of else ""
        found.append(
            Entry(
                uid=f"{check.key}-{key}@{premises.id}",
                at=slot_at,
                until=slot_at + LASTS,
                title=f"{check.name}{f' · {lot_code}' if lot_code else ''}{for_whom}",
                place=check.place.name if check.place else "",
                text=f"{check.control_point}\n{check.how}".strip(),
                path=reverse("checks:today"),
            )
        )
    return sorted(found, key=lambda one: (one.at, one.title))


def _by_clock(
    membership: Membership, start: datetime, end: datetime, now: datetime
) -> Iterator[tuple[Check, datetime, str, str]]:
    premises = membership.premises
    revision: PlanRevision | None = revision_in_force(premises, now)
    if revision is None or revision.effective_from is None:
        return
    calendar = calendar_of(premises)
    for check in revision.checks.filter(cadence__kind="clock").select_related("control_point", "place"):
        for slot in slots(
            check.cadence,
            time_zone=premises.time_zone,
            window_before_s=check.window_before_s,
            grace_s=check.grace_s,
            start=max(start, revision.effective_from),
            end=end,
            closed=calendar.for_check(check),
        ):
            yield check, slot.due_at, slot.key, ""


def _as_due(membership: Membership, start: datetime, end: datetime) -> Iterator[tuple[Check, datetime, str, str]]:
    rows = (
        DueCheck.objects.for_premises(membership.premises)
        .filter(due_at__gte=start, due_at__lt=end)
        .exclude(check_due__cadence__kind="clock")
        .select_related("check_due__control_point", "check_due__place", "lot")
    )
    for row in rows:
        yield row.check_due, row.due_at, row.slot_key.replace("|", "-"), row.lot.code if row.lot else ""

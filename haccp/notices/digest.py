"""The day in a mail: what is due, what is unanswered, what stands open."""

from datetime import datetime

from django.urls import reverse

from haccp.checks import queries as checks
from haccp.checks.closed import period_on
from haccp.checks.cover import uncovered
from haccp.checks.reviewing import unreviewed
from haccp.checks.unanswered import Unanswered
from haccp.deviations import queries as deviations
from haccp.ledger import queries as ledger
from haccp.ledger.head import fingerprint
from haccp.lots.queries import held_count
from haccp.premises.models import Membership


def words(membership: Membership, now: datetime) -> tuple[str, str, str]:
    """Subject, text and path of a person's digest of the local day."""
    premises = membership.premises
    day = premises.local_date(now)
    today = checks.today(premises, now)
    due = [due for part in (today.late, today.due, today.later) for one in part for due in one.checks]
    lines: list[str] = []
    closed = period_on(premises, day)
    if closed is not None:
        lines.append(f"Closed: {closed.get_without_display()}. {closed.reason}")
    lines += [one.sentence for one in uncovered(premises, now)]
    if today.missed:
        lines.append(f"{today.missed_count} missed checks have no reason yet:")
        lines += [f"  - {_kind(membership, one)}" for one in today.missed[:10]]
        if len(today.missed) > 10:
            lines.append(f"  - and {len(today.missed) - 10} other kinds")
    open_deviations = deviations.open_count(premises)
    if open_deviations:
        lines.append(f"{open_deviations} deviations are open; {held_count(premises)} lots are on hold.")
    waiting = unreviewed(premises, now)
    if waiting.count:
        overdue = f", {waiting.overdue} of them past {waiting.within} working days" if waiting.overdue else ""
        lines.append(f"{waiting.count} days are not reviewed{overdue}.")
    lines.append("")
    lines.append(f"Due today ({len(due)}):" if due else "Nothing is due today.")
    lines += [
        f"  - {_local(membership, one.due_at)}  {one.check_due.name}{f' · {one.lot.code}' if one.lot else ''}"
        for one in sorted(due, key=lambda one: one.due_at)
    ]
    # Kept in a mailbox, it holds against everybody who could write to the database.
    lines += ["", f"Ledger, everything recorded so far: {fingerprint(ledger.head(premises.log_id))}"]
    subject = f"{premises.name}, {day:%A} {day.day} {day:%B}: {len(due)} checks"
    return subject, "\n".join(lines).strip(), reverse("checks:today")


def _kind(membership: Membership, kind: Unanswered) -> str:
    name = f"{kind.check.name}{f' · {kind.about}' if kind.about else ''}"
    last = _local(membership, kind.last_due)
    if kind.count == 1:
        return f"{name}, due {last}"
    return f"{name}: {kind.count} times, due {_local(membership, kind.first_due)} to {last}"


def _local(membership: Membership, moment: datetime) -> str:
    return f"{moment.astimezone(membership.premises.zone):%d %b %H:%M}"

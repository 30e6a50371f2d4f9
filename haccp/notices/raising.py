"""Who is told of a deviation at each level, and in which words."""

from dataclasses import dataclass
from datetime import timedelta

from django.urls import reverse

from haccp.checks.cover import cover_of
from haccp.deviations.models import Deviation
from haccp.premises.models import Membership, Premises
from haccp.premises.roles import Right, may

# Until somebody reacts: an hour, then two. Common practice, no source.
LEVELS_AFTER = (timedelta(hours=1), timedelta(hours=2))
LAST_LEVEL = len(LEVELS_AFTER)


@dataclass(frozen=True, slots=True)
class Told:
    membership: Membership
    wakes: bool


def next_pause(level: int) -> timedelta | None:
    """How long after this level the next one comes; None after the last."""
    return LEVELS_AFTER[level] if level < LAST_LEVEL else None


def people_at(premises: Premises, level: int, deviation: Deviation) -> list[Membership]:
    """0: who may record or decide and is not away. 1: who manages the dairy, away or not. 2: everybody who reads."""
    cover, today = cover_of(premises), premises.local_date(deviation.opened_at)
    everybody = list(cover.people.values())
    if level == 0:
        there = [one for one in everybody if may(one, Right.RECORD) and not cover.is_away(one.pk, today)]
        return there or [one for one in everybody if may(one, Right.MANAGE)]
    if level == 1:
        return [one for one in everybody if may(one, Right.MANAGE)]
    return [one for one in everybody if may(one, Right.RECORD) or may(one, Right.REVIEW_DAY)]


def words(deviation: Deviation, level: int) -> tuple[str, str, str]:
    """Subject, text and path."""
    point = deviation.control_point
    kind = "Critical limit" if point.is_critical else "Deviation"
    again = "" if level == 0 else "Nobody has reacted yet: "
    subject = f"{again}{kind}, {deviation.premises.name}: {deviation.reference}"[:200]
    local = deviation.occurred_at.astimezone(deviation.premises.zone)
    lots = deviation.implicated.count()
    touched = f"\n\nIt touches {lots} lot{'s' if lots != 1 else ''}." if lots else ""
    held = " They are on hold." if lots and point.is_critical else ""
    text = (
        f"{deviation.summary}\n\n{point}, {local:%d %b %Y %H:%M}.{touched}{held}\n\n"
        f"What the plan says to do: {point.corrective_action}"
    )
    return subject, text, reverse("deviations:detail", args=[deviation.pk])

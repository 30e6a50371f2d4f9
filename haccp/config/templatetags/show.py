"""Template tags for quantities, times and rulings: in the premises' zone and the person's units."""

from datetime import datetime
from typing import Any

from django import template
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from haccp.checks.models import Record
from haccp.checks.wording import RULING_WORDS, worst
from haccp.lots.kinds import EventKind
from haccp.science.units import show as show_quantity
from haccp.science.units import spell_duration

register = template.Library()


@register.filter
def clock(moment: datetime | None) -> str:
    """The local time of day, 07:05."""
    return timezone.localtime(moment).strftime("%H:%M") if moment else ""


@register.filter
def moment(value: datetime | None) -> SafeString | str:
    """Local date and time with the machine-readable UTC beside it."""
    if value is None:
        return ""
    local = timezone.localtime(value)
    return format_html('<time datetime="{}">{}</time>', value.isoformat(), f"{local.day} {local:%b %Y, %H:%M}")


@register.filter
def apart(value: datetime, other: datetime) -> str:
    """How far two moments lie apart, in whole minutes: "25 min", "2 h 5 min", "3 d 4 h"."""
    minutes = abs((other - value).total_seconds()) // 60
    return spell_duration(minutes * 60) if minutes else "less than a minute"


@register.filter
def spelled(seconds: float) -> str:
    """A length of time in words: "2 d 3 h"."""
    return spell_duration(seconds)


@register.simple_tag(takes_context=True)
def quantity(context: dict[str, Any], key: str, value: float | None) -> str:
    """A value in the unit that the person prefers."""
    if value is None:
        return "–"
    scope = context.get("scope")
    return show_quantity(key, value, scope.user.preferred_unit(key) if scope is not None else "")


@register.filter
def ruling_word(ruling: str) -> str:
    return RULING_WORDS[ruling].word


@register.filter
def ruling_sign(ruling: str) -> str:
    """The sign beside the word, so that nothing is said by colour alone."""
    return RULING_WORDS[ruling].sign


@register.filter
def worst_ruling(record: Record) -> str:
    """The ruling that speaks for a record on one line; "" where no limit watches it."""
    return worst(row.ruling for row in record.rulings.all())


@register.filter
def event_word(kind: str) -> str:
    """What happened to a lot, in the trade's words; a kind of a later version as it is written."""
    return str(EventKind(kind).label) if kind in EventKind.values else kind.replace("_", " ")

"""Template tags for quantities, times and rulings: in the premises' zone and the person's units."""

from datetime import datetime
from typing import Any

from django import template
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from haccp.checks.wording import RULING_WORDS
from haccp.science.units import show as show_quantity
from haccp.science.units import spell_duration

register = template.Library()
VOLUME_UNITS = {"L": "L", "gal": "gal (US)"}  # preference -> unit of science.units


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


@register.simple_tag(takes_context=True)
def quantity(context: dict[str, Any], key: str, value: float | None) -> str:
    """A value in the unit that the person prefers."""
    if value is None:
        return "–"
    scope = context.get("scope")
    preferred = {}
    if scope is not None:
        user = scope.user
        preferred = {
            "temperature": user.temperature_unit,
            "volume": VOLUME_UNITS[user.volume_unit],
            "mass": user.mass_unit,
        }
    return show_quantity(key, value, preferred.get(key, ""))


@register.filter
def ruling_word(ruling: str) -> str:
    return RULING_WORDS[ruling].word


@register.filter
def ruling_sign(ruling: str) -> str:
    """The sign beside the word, so that nothing is said by colour alone."""
    return RULING_WORDS[ruling].sign

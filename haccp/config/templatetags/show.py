"""Template tags for quantities, times and rulings: in the premises' zone and the person's units."""

from datetime import date, datetime
from typing import Any

from django import template
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from haccp.checks.models import Record
from haccp.checks.wording import RULING_WORDS, worst
from haccp.lots.kinds import EventKind
from haccp.science.ruling import Ruling
from haccp.science.units import show as show_quantity
from haccp.science.units import spell_duration

register = template.Library()


@register.filter
def clock(moment: datetime | None) -> str:
    """The local time of day, 07:05."""
    return timezone.localtime(moment).strftime("%H:%M") if moment else ""


@register.filter
def clock_on(moment: datetime | None, day: date) -> str:
    """The local time of day, with its day where that is another than the page's: 07:05; Fri 27 Nov, 07:05."""
    if moment is None:
        return ""
    local = timezone.localtime(moment)
    return f"{local:%H:%M}" if local.date() == day else f"{local:%a} {local.day} {local:%b}, {local:%H:%M}"


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
def clock_s(moment: datetime | None) -> str:
    """The local time of day, to the second where it has any: 07:05, 07:05:08."""
    if moment is None:
        return ""
    local = timezone.localtime(moment)
    return local.strftime("%H:%M:%S" if local.second else "%H:%M")


@register.filter
def seconds_from(moment: datetime, now: datetime) -> int:
    """Whole seconds from now to a moment, below zero once it has passed."""
    return int((moment - now).total_seconds())


@register.filter
def left_from(moment: datetime, now: datetime) -> str:
    """What is left until a moment, in words: as js/stage_timer.js counts it down."""
    seconds = (moment - now).total_seconds()
    return f"{spell_duration(seconds)} still to go" if seconds >= 0 else f"over by {spell_duration(-seconds)}"


@register.filter
def spelled(seconds: float | None) -> str:
    return "" if seconds is None else spell_duration(seconds)


@register.filter
def mass_words(mass_kg: float) -> str:
    """350 g, 2.40 kg."""
    grams = mass_kg * 1000
    return show_quantity("mass", mass_kg, "g") if grams < 1000 else show_quantity("mass", mass_kg, decimals=2)


@register.filter
def signed_percent(value: float | None) -> str:
    return "" if value is None else f"{value:+.1f} %".replace("-", "−")


@register.simple_tag(takes_context=True)
def asks(context: dict[str, Any], key: str, low: float | None, target: float | None, high: float | None) -> str:
    """What a stage asks for: "32.0 °C (30.0 °C to 34.0 °C)", "at most pH 6.50"."""

    def shown(value: float) -> str:
        return spell_duration(value) if key == "duration" else quantity(context, key, value)

    limits = (
        f"{shown(low)} to {shown(high)}" if low is not None and high is not None
        else f"at least {shown(low)}" if low is not None
        else f"at most {shown(high)}" if high is not None
        else ""
    )  # fmt: skip
    if target is None:
        return limits
    return f"{shown(target)} ({limits})" if limits else shown(target)


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
    """The ruling that speaks for a record on one line; "" where no limit watches it. What is in doubt is unproven,
    unless it was breached."""
    rulings = {row.ruling for row in record.rulings.all()}
    return worst(rulings | {Ruling.UNPROVEN.value} if record.doubt else rulings)


@register.filter
def event_word(kind: str) -> str:
    """What happened to a lot, in the trade's words; a kind of a later version as it is written."""
    return str(EventKind(kind).label) if kind in EventKind.values else kind.replace("_", " ")

"""Times as people type them: the dairy's wall clock in, UTC out."""

import re
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from haccp.science.errors import InputError
from haccp.science.schedule.wall_clock import instant, local_time, second_instant

OFFSET_SUFFIX = "_offset"
OFFSET_AT_END = re.compile(r"[+-]\d\d:\d\d$")


def read_local(text: str, zone: ZoneInfo) -> datetime:
    """The UTC moment of a local time such as "2026-03-10T07:05" (seconds allowed, a space for the T too).

    An offset behind it ("2026-10-25T01:30+01:00") says which of two passes is meant. Raises InputError for what is
    no time, for a time that the clock skipped, and for one that it showed twice when no offset says which.
    """
    try:
        typed = datetime.fromisoformat(text.strip())
    except ValueError:
        raise InputError(
            f"“{text.strip()}” is not a date and time." if text.strip() else "No time was given.",
            remedy="Give both, for example 2026-03-10 07:05.",
        ) from None
    if typed.tzinfo is not None:
        return typed.astimezone(UTC)
    passes = _passes(typed, zone)
    if not passes:
        raise InputError(
            f"The clock skipped {typed:%H:%M} on {_day(typed)}: it was put forward then.",
            remedy="Give the time that the clock showed after it was put forward.",
        )
    if len(passes) > 1:
        raise InputError(
            f"The clock showed {typed:%H:%M} twice on {_day(typed)}, when it was put back.",
            remedy="Say whether it was the first or the second time.",
        )
    return passes[0]


def typed_form(moment: datetime, zone: ZoneInfo) -> str:
    """A moment as an <input type="datetime-local"> holds it."""
    local = moment.astimezone(zone)
    return local.strftime("%Y-%m-%dT%H:%M:%S" if local.second else "%Y-%m-%dT%H:%M")


def _passes(wall: datetime, zone: ZoneInfo) -> list[datetime]:
    """The UTC moments at which the clock showed this: one, none in spring, two in autumn."""
    first, second = instant(wall, zone), second_instant(wall, zone)
    if local_time(first, zone) != wall:
        return []
    return [first, second] if second else [first]


def _day(wall: datetime) -> str:
    return f"{wall.day} {wall:%b %Y}"


def _zone() -> ZoneInfo:
    """The premises' zone, which the middleware has set for this request."""
    zone = timezone.get_current_timezone()
    return zone if isinstance(zone, ZoneInfo) else ZoneInfo("UTC")


class LocalTimeInput(forms.DateTimeInput):
    """datetime-local; for an hour that the clock showed twice, a choice of the pass beside it."""

    input_type = "datetime-local"

    def format_value(self, value: Any) -> str | None:
        if not value:
            return None
        if isinstance(value, datetime):
            return typed_form(value, _zone())
        return OFFSET_AT_END.sub("", str(value))

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context: dict[str, Any] = super().get_context(name, value, attrs)
        if (context["widget"]["value"] or "")[17:19] not in ("", "00"):
            context["widget"]["attrs"]["step"] = "1"
        return context

    def value_from_datadict(self, data: Any, files: Any, name: str) -> str | None:
        wall, offset = data.get(name), data.get(name + OFFSET_SUFFIX, "")
        # A choice of pass left over from an earlier try must not shift a time that the clock showed once.
        is_double = bool(wall and offset) and len(_passes_of_text(wall)) > 1
        return f"{wall}{offset}" if is_double else wall

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        rendered = super().render(name, value, attrs, renderer)
        choices = _pass_choices(self.format_value(value) or "")
        if not choices:
            return rendered
        chosen = forms.Select(choices=choices).render(
            name + OFFSET_SUFFIX, _chosen_offset(value), {"aria-label": "Which of the two times"}, renderer
        )
        return format_html('{} <span class="which-pass">{}</span>', rendered, chosen)


class LocalTimeField(forms.Field):
    """Cleans to an aware UTC datetime; the zone is that of the premises."""

    widget = LocalTimeInput

    def to_python(self, value: Any) -> datetime | None:
        if not value:
            return None
        try:
            return read_local(str(value), _zone())
        except InputError as error:
            raise forms.ValidationError(str(error), code="local_time") from error


def begins_now(form: forms.Form, name: str) -> None:
    """A fresh form's time begins at the present minute, and keeps up with it until it is touched."""
    form.initial.setdefault(name, timezone.now().replace(second=0, microsecond=0))
    keep_current(form, name)


def keep_current(form: forms.Form, name: str) -> None:
    """Marks the time of a fresh form as the present one, which js/current_time.js keeps so until it is touched."""
    if not form.is_bound:
        form.fields[name].widget.attrs["data-keep-current"] = ""


def _passes_of_text(wall: str) -> list[datetime]:
    try:
        typed = datetime.fromisoformat(wall)
    except ValueError:
        return []
    return _passes(typed, _zone()) if typed.tzinfo is None else []


def _chosen_offset(value: Any) -> str:
    if isinstance(value, datetime):
        return _offset_text(value.astimezone(_zone()).utcoffset())
    found = OFFSET_AT_END.search(str(value))
    return found[0] if found else ""


def _pass_choices(wall: str) -> list[tuple[str, str]]:
    passes = _passes_of_text(wall)
    if len(passes) < 2:
        return []
    labels = ("the first time", "the second time, after the clock was put back")
    offsets = (_offset_text(moment.astimezone(_zone()).utcoffset()) for moment in passes)
    return [("", "which of the two?"), *zip(offsets, labels, strict=True)]


def _offset_text(offset: timedelta | None) -> str:
    minutes = round((offset or timedelta()).total_seconds() / 60)
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"

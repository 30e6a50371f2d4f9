"""Fields that keep what was typed and refuse with a sentence."""

import re
from typing import Any

from django import forms

from haccp.science.schedule.words import duration as duration_in_words

_PIECE = re.compile(r"(\d+(?:[.,]\d+)?)\s*(d|days?|h|hours?|min|minutes?|s|seconds?)(?![a-z])", re.IGNORECASE)
_SECONDS = {"d": 86_400.0, "h": 3_600.0, "m": 60.0, "s": 1.0}


class NumberField(forms.CharField):
    """A number with a point or a comma; None when left empty. whole: without a fraction."""

    def __init__(self, *, whole: bool = False, **kwargs: Any) -> None:
        self.whole = whole
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "numeric" if whole else "decimal"}))
        super().__init__(max_length=40, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return f"{value:.10g}" if isinstance(value, float) else value

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        try:
            number = float(text.replace(",", "."))
        except ValueError:
            raise forms.ValidationError(f"“{text}” is not a number; type digits such as 5.2.") from None
        if not self.whole:
            return number
        if not number.is_integer():
            raise forms.ValidationError(f"“{text}” is not a whole number.")
        return int(number)


class DurationField(forms.CharField):
    """Seconds, typed as "30 min" or "1 h 30 min"; None when left empty."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=60, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, int | float):
            return duration_in_words(value) if float(value).is_integer() else f"{value:g} s"
        return value

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        return read_duration(text) if text else None


def read_duration(text: str) -> float:
    """Raises ValidationError for what is no length of time."""
    rest = _PIECE.sub("", text).strip(" ,")
    pieces = _PIECE.findall(text)
    if rest or not pieces:
        raise forms.ValidationError(f"“{text}” is no length of time; type it such as “30 min” or “1 h 30 min”.")
    seconds = sum(float(number.replace(",", ".")) * _SECONDS[unit[0].lower()] for number, unit in pieces)
    return int(seconds) if float(seconds).is_integer() else seconds


class LinesField(forms.CharField):
    """Several short texts, one a line."""

    widget = forms.Textarea(attrs={"rows": 3})

    def prepare_value(self, value: Any) -> Any:
        return "\n".join(value) if isinstance(value, list | tuple) else value

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        return tuple(line.strip() for line in text.splitlines() if line.strip())

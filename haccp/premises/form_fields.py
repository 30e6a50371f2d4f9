"""Fields that several rooms' forms share."""

from typing import Any

from django import forms


def typed_number(label: Any, *, help_text: Any = "", required: bool = False, mode: str = "decimal") -> forms.CharField:
    """A number kept as it is typed, with a comma or a point; the action reads it. mode: which keys a phone offers."""
    return forms.CharField(
        label=label,
        max_length=40,
        required=required,
        help_text=help_text,
        widget=forms.TextInput(attrs={"inputmode": mode, "autocomplete": "off"}),
    )

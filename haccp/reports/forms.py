"""The form that asks for a pack."""

from django import forms
from django.utils.translation import gettext_lazy as _


class PackForm(forms.Form):
    """pack_id is made with the form, so that a double tap asks for one pack."""

    pack_id = forms.UUIDField(widget=forms.HiddenInput)
    period_from = forms.DateField(
        label=_("From"),
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={
            "required": _("Choose the first day that the pack shows."),
            "invalid": _("That is not a day of the calendar. Write it as 2026-03-01."),
        },
    )
    period_to = forms.DateField(
        label=_("To, this day included"),
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={
            "required": _("Choose the last day that the pack shows."),
            "invalid": _("That is not a day of the calendar. Write it as 2026-03-31."),
        },
    )

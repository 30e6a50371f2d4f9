"""Answering for what was missed, and signing a day."""

from django import forms
from django.utils.translation import gettext_lazy as _

from haccp.checks.models import DaySignature


class ReasonForm(forms.Form):
    text = forms.CharField(
        label=_("Why was it not done?"),
        widget=forms.Textarea(attrs={"rows": 3}),
        max_length=2000,
        error_messages={"required": _("Say in a few words why it was not done.")},
    )


class SignForm(forms.Form):
    """seen_sha256: of the day as this page shows it, so that nobody signs what they have not seen."""

    meaning = forms.ChoiceField(choices=DaySignature.Meaning.choices, widget=forms.HiddenInput)
    seen_sha256 = forms.CharField(widget=forms.HiddenInput)
    password = forms.CharField(
        label=_("Your password"),
        strip=False,
        help_text=_("It stands for your signature."),
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": _("Type your password to sign.")},
    )

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


USUAL_REASONS = (
    ("Nobody was at the dairy.", _("Nobody was at the dairy")),
    ("Nothing was made or kept that needed it.", _("Nothing was made or kept that needed it")),
    ("It was forgotten.", _("It was forgotten")),
    ("It was done and not written down.", _("It was done and not written down")),
    ("The instrument or equipment could not be used.", _("The instrument or equipment could not be used")),
)


class ReasonTogetherForm(forms.Form):
    """One reason for missed checks of several kinds, or for some of one kind. shown_at: when the page was made, so that
    nobody answers for what was flagged since."""

    chosen = forms.ChoiceField(
        label=_("Why were they not done?"),
        choices=[*USUAL_REASONS, ("", _("Something else, as written below"))],
        required=False,
        widget=forms.RadioSelect,
    )
    text = forms.CharField(
        label=_("In your own words"),
        help_text=_("It is put behind what you chose."),
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        max_length=1900,
    )
    shown_at = forms.DateTimeField(widget=forms.HiddenInput)

    def reason(self) -> str:
        return f"{self.cleaned_data['chosen']} {self.cleaned_data['text']}".strip()


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

"""Forms about people and how they come in."""

import zoneinfo
from uuid import uuid4

from django import forms
from django.core.validators import EMPTY_VALUES, RegexValidator
from django.utils.translation import gettext_lazy as _

from haccp.premises.models import Membership, Premises

# An inspector comes by a visitor link.
GIVEN_ROLES = [choice for choice in Membership.Role.choices if choice[0] != Membership.Role.INSPECTOR]


class InvitationForm(forms.Form):
    email = forms.EmailField(
        label=_("E-mail"), help_text=_("The link is sent here, and works for this address alone."), max_length=254
    )
    name = forms.CharField(label=_("Name"), max_length=120, required=False)
    role = forms.ChoiceField(label=_("Role"), choices=GIVEN_ROLES, widget=forms.RadioSelect)


class RoleForm(forms.Form):
    role = forms.ChoiceField(label=_("Role"), choices=GIVEN_ROLES, widget=forms.RadioSelect)


class VisitorForm(forms.Form):
    name = forms.CharField(
        label=_("Who visits"), max_length=100, help_text=_("Name and authority, as the ledger is to say it.")
    )
    days = forms.TypedChoiceField(
        label=_("How long the link works"),
        choices=[(1, _("1 day")), (7, _("7 days")), (30, _("30 days"))],
        coerce=int,
        initial=1,
        widget=forms.RadioSelect,
    )


class PinForm(forms.Form):
    pin = forms.CharField(
        label=_("PIN"),
        min_length=4,
        max_length=8,
        validators=[RegexValidator(r"^[0-9]+$", _("Digits only."))],
        help_text=_("4 to 8 digits, for taking over a shared device at the vat."),
        widget=forms.PasswordInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    password = forms.CharField(
        label=_("Your password"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class PasswordForm(forms.Form):
    password = forms.CharField(
        label=_("Your password"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class PasskeyForm(PasswordForm):
    name = forms.CharField(
        label=_("Which device is it on?"), max_length=80, help_text=_("Such as “telephone”, or “blue stick”.")
    )
    field_order = ("name", "password")


class HandOverForm(forms.Form):
    person = forms.ChoiceField(label=_("Who takes over"), widget=forms.RadioSelect)
    pin = forms.CharField(
        label=_("Their PIN"),
        max_length=8,
        widget=forms.PasswordInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )


class CodeForm(forms.Form):
    one_time_code = forms.CharField(
        label=_("Code"),
        max_length=16,
        help_text=_("The 6 digits that your authenticator shows now, or one of your spare codes."),
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "one-time-code", "autofocus": True}),
    )


class NewPersonForm(forms.Form):
    name = forms.CharField(
        label=_("Your name"),
        max_length=120,
        help_text=_("As it is to be printed beside what you record and sign."),
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    password = forms.CharField(
        label=_("A password"),
        strip=False,
        help_text=_("10 characters or more; four words that only you put together are good."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    password_again = forms.CharField(
        label=_("The same password again"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean(self) -> None:
        first, second = self.cleaned_data.get("password"), self.cleaned_data.get("password_again")
        if first not in EMPTY_VALUES and second not in EMPTY_VALUES and first != second:
            self.add_error("password_again", _("The two passwords differ. Type both again."))


class PremisesForm(forms.Form):
    """The id is made with the form, so that a double tap opens one."""

    premises_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    name = forms.CharField(label=_("Name"), max_length=160, help_text=_("As its records print it."))
    address = forms.CharField(label=_("Address"), required=False, widget=forms.Textarea(attrs={"rows": 3}))
    approval_number = forms.CharField(label=_("Approval or registration number"), max_length=40, required=False)
    time_zone = forms.CharField(
        label=_("Time zone"), max_length=64, help_text=_("Such as Europe/Dublin or America/Chicago.")
    )
    jurisdiction = forms.ChoiceField(
        label=_("Whose food law applies"), choices=Premises.Jurisdiction.choices, widget=forms.RadioSelect
    )

    def clean_time_zone(self) -> str:
        zone = str(self.cleaned_data["time_zone"]).strip()
        if zone not in zoneinfo.available_timezones():
            raise forms.ValidationError(
                _("“%(zone)s” is not a time zone. Give one such as Europe/Dublin."), params={"zone": zone}
            )
        return zone

"""Forms about people and their devices."""

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.utils.translation import gettext_lazy as _

from haccp.premises.models import User


class SignInForm(AuthenticationForm):
    username = forms.EmailField(
        label=_("E-mail"), widget=forms.EmailInput(attrs={"autocomplete": "username", "autofocus": True})
    )
    password = forms.CharField(
        label=_("Password"), strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "current-password"})
    )
    error_messages = {
        "invalid_login": _(
            "This e-mail and password do not belong together. Check both; capitals count in a password."
        ),
        "inactive": _("This person has been signed off from the service. Ask the owner of the dairy."),
    }

    def clean_username(self) -> str:
        return str(self.cleaned_data["username"]).strip().lower()


class PreferencesForm(forms.Form):
    temperature_unit = forms.ChoiceField(
        label=_("Temperature"), choices=User.TemperatureUnit.choices, widget=forms.RadioSelect
    )
    volume_unit = forms.ChoiceField(label=_("Volume"), choices=User.VolumeUnit.choices, widget=forms.RadioSelect)
    mass_unit = forms.ChoiceField(label=_("Mass"), choices=User.MassUnit.choices, widget=forms.RadioSelect)


class DeviceForm(forms.Form):
    name = forms.CharField(
        label=_("Name of the device"),
        max_length=80,
        help_text=_("So that you recognise it later, such as “tablet at vat 2”."),
    )

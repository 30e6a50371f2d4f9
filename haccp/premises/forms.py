"""Forms about people and their devices, and about the dairy with its places and instruments."""

from typing import Any
from uuid import uuid4

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.utils.translation import gettext_lazy as _

from haccp.premises.models import Instrument, Place, User
from haccp.premises.queries import places_of
from haccp.premises.scope import Scope
from haccp.premises.uncertainty import MEASURES, UNITS_OFFERED, uncertainty_si
from haccp.science.errors import InputError
from haccp.science.units import QUANTITIES


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


class DairyForm(forms.Form):
    name = forms.CharField(label=_("Name"), max_length=160)
    address = forms.CharField(
        label=_("Address"), max_length=1000, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )
    approval_number = forms.CharField(
        label=_("Approval or licence number"),
        max_length=40,
        required=False,
        help_text=_("As the authority gave it; papers print it."),
    )


class PlaceForm(forms.Form):
    """place_id: made by the page, so that a double tap adds one place."""

    place_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    name = forms.CharField(label=_("Name"), max_length=80, help_text=_("As you call it, such as “Vat 1 (400 L)”."))
    kind = forms.ChoiceField(label=_("What it is"), choices=[("", _("choose")), *Place.Kind.choices])


class PlaceChangeForm(PlaceForm):
    """seen_sha256: of the place as the page showed it."""

    place_id = None  # type: ignore[assignment]
    seen_sha256 = forms.CharField(widget=forms.HiddenInput)


class InstrumentForm(forms.Form):
    """instrument_id: made by the page, so that a double tap adds one instrument."""

    instrument_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    name = forms.CharField(label=_("Name"), max_length=80, help_text=_("As it is called, such as “Probe thermometer”."))
    kind = forms.ChoiceField(label=_("Kind"), choices=[("", _("choose")), *Instrument.Kind.choices])
    serial = forms.CharField(label=_("Serial number"), max_length=60, required=False)
    place = forms.ModelChoiceField(
        label=_("Where it is kept"), queryset=Place.objects.none(), required=False, empty_label=_("it goes around")
    )
    uncertainty = forms.CharField(
        label=_("Uncertainty (±)"),
        max_length=20,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
        help_text=_(
            "As its certificate states it, for about 95 % (k = 2). Where nothing is stated, it is no less than the "
            "smallest step of the display."
        ),
    )
    unit = forms.ChoiceField(
        label=_("Unit of the uncertainty"),
        choices=[*((unit, unit) for unit in UNITS_OFFERED), ("", _("as the test kit reads"))],
        required=False,
    )
    calibrated_on = forms.DateField(
        label=_("Calibrated on"), required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    calibration_valid_until = forms.DateField(
        label=_("Calibration good until"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        help_text=_("After this day its readings prove nothing, and the checks say so."),
    )

    def __init__(self, *args: Any, scope: Scope, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        place = self.fields["place"]
        assert isinstance(place, forms.ModelChoiceField)
        kept = self.initial.get("place")
        still_there = Place.objects.filter(premises=scope.premises, pk=kept) if kept else Place.objects.none()
        place.queryset = places_of(scope.premises) | still_there
        if "unit" not in self.initial:
            self.initial["unit"] = _usual_unit(scope, str(self.initial.get("kind", "")))

    @staticmethod
    def kept(instrument: Instrument) -> dict[str, Any]:
        """What the form of an instrument begins with; the uncertainty as it was typed, where that is known."""
        number, _space, unit = instrument.uncertainty_typed.partition(" ")
        if not number:
            quantity = MEASURES.get(Instrument.Kind(instrument.kind))
            number, unit = f"{instrument.expanded_uncertainty:g}", QUANTITIES[quantity].si_unit if quantity else ""
        return {
            "name": instrument.name,
            "kind": instrument.kind,
            "serial": instrument.serial,
            "place": instrument.place_id,
            "uncertainty": number,
            "unit": unit,
            "calibrated_on": instrument.calibrated_on,
            "calibration_valid_until": instrument.calibration_valid_until,
        }

    def clean_uncertainty(self) -> float:
        text = str(self.cleaned_data["uncertainty"]).strip().removeprefix("±").strip().replace(",", ".")
        try:
            return float(text)
        except ValueError:
            raise forms.ValidationError(_("Type a number, such as 0.3.")) from None

    def clean(self) -> None:
        values = self.cleaned_data
        if "uncertainty" not in values or "kind" not in values:
            return
        unit = str(values.get("unit", "")) if MEASURES.get(Instrument.Kind(values["kind"])) else ""
        values["uncertainty_typed"] = f"{values['uncertainty']:g} {unit}".strip()
        try:
            values["expanded_uncertainty"] = uncertainty_si(values["kind"], values["uncertainty"], unit)
        except InputError as error:
            self.add_error("uncertainty", str(error))

    def stated(self) -> dict[str, Any]:
        """The values by the names that the actions take."""
        return {name: value for name, value in self.cleaned_data.items() if name not in ("uncertainty", "unit")}


class InstrumentChangeForm(InstrumentForm):
    """seen_sha256: of the instrument as the page showed it."""

    instrument_id = None  # type: ignore[assignment]
    seen_sha256 = forms.CharField(widget=forms.HiddenInput)


def _usual_unit(scope: Scope, kind: str) -> str:
    quantity = MEASURES.get(Instrument.Kind(kind)) if kind in Instrument.Kind.values else "temperature"
    if quantity is None:
        return ""
    return scope.user.preferred_unit(quantity) or QUANTITIES[quantity].si_unit

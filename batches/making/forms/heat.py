"""What stands beside a recorder's file, and a phosphatase result, as they are typed."""

from typing import Any
from uuid import uuid4

from django import forms
from django.forms.boundfield import BoundField
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from batches.making.actions import DiversionTyped, ThermometerTyped
from batches.making.models import HeatSheet
from haccp.premises.form_fields import typed_number
from haccp.premises.local_time import LocalTimeField
from haccp.premises.models import Instrument
from haccp.premises.queries import instruments_of
from haccp.premises.scope import Scope

DECIMAL = {"inputmode": "decimal", "autocomplete": "off"}
THERMOMETERS, DIVERSIONS = 3, 3


class HeatSheetForm(forms.Form):
    sheet_id = forms.UUIDField(widget=forms.HiddenInput)
    process = forms.ChoiceField(label=_("How it was treated"), choices=HeatSheet.Process.choices)
    fat = typed_number(_("Fat of the milk, %"), help_text=_("From 10 % on the law asks for more heat."))
    sweetened = forms.BooleanField(label=_("Sweetened milk"), required=False)
    unit = forms.ChoiceField(label=_("Temperatures in"), choices=[("°C", "°C"), ("°F", "°F")])
    cut_in = typed_number(_("Valve went to forward flow at"))
    cut_out = typed_number(_("Valve diverted at"))
    tube_s = typed_number(_("Holding tube, seconds"), help_text=_("Of the fastest particle, by its last test."))
    note = forms.CharField(label=_("Note"), required=False)

    def __init__(self, *args: Any, scope: Scope, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("sheet_id", uuid4())
        self.initial.setdefault("unit", scope.user.preferred_unit("temperature"))
        thermometers = instruments_of(scope.premises).filter(kind=Instrument.Kind.THERMOMETER)
        for name, label in (
            ("thermometer", _("Indicating thermometer")),
            ("air_thermometer", _("That of the air space")),
        ):
            self.fields[name] = forms.ModelChoiceField(
                label=label, queryset=thermometers, required=False, empty_label=_("not said")
            )
        for n in range(1, THERMOMETERS + 1):
            self.fields[f"at_{n}"] = LocalTimeField(label=_("Read at"), required=False)
            self.fields[f"indicating_{n}"] = typed_number(_("It showed"))
            self.fields[f"air_space_{n}"] = typed_number(_("Air space"))
        for n in range(1, DIVERSIONS + 1):
            self.fields[f"from_{n}"] = LocalTimeField(label=_("Diverted from"), required=False)
            self.fields[f"until_{n}"] = LocalTimeField(label=_("until"), required=False)

    def thermometer_rows(self) -> list[tuple[BoundField, BoundField, BoundField]]:
        return [(self[f"at_{n}"], self[f"indicating_{n}"], self[f"air_space_{n}"]) for n in range(1, THERMOMETERS + 1)]

    def diversion_rows(self) -> list[tuple[BoundField, BoundField]]:
        return [(self[f"from_{n}"], self[f"until_{n}"]) for n in range(1, DIVERSIONS + 1)]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for n in range(1, THERMOMETERS + 1):
            typed = any(str(cleaned.get(f"{name}_{n}", "")).strip() for name in ("indicating", "air_space"))
            if typed and not cleaned.get(f"at_{n}") and f"at_{n}" not in self.errors:
                self.add_error(f"at_{n}", _("Give the time of this reading."))
        for n in range(1, DIVERSIONS + 1):
            ends = [name for name in ("from", "until") if cleaned.get(f"{name}_{n}")]
            if len(ends) == 1:
                missing = "until" if ends == ["from"] else "from"
                self.add_error(f"{missing}_{n}", _("Give both times of the diversion."))
        return cleaned

    def typed(self) -> dict[str, Any]:
        """The arguments of actions.heat_sheet_save."""
        data = self.cleaned_data
        return {
            **{name: data[name] for name in self.base_fields},
            **{f"{name}_id": data[name] and data[name].pk for name in ("thermometer", "air_thermometer")},
            "thermometers": [
                ThermometerTyped(n, data[f"at_{n}"], data[f"indicating_{n}"], data[f"air_space_{n}"])
                for n in range(1, THERMOMETERS + 1)
                if data[f"at_{n}"]
            ],
            "diversions": [
                DiversionTyped(n, data[f"from_{n}"], data[f"until_{n}"])
                for n in range(1, DIVERSIONS + 1)
                if data[f"from_{n}"]
            ],
        }


class PhosphataseForm(forms.Form):
    result_id = forms.UUIDField(widget=forms.HiddenInput)
    activity = forms.CharField(
        label=_("Alkaline phosphatase, mU/L"),
        max_length=40,
        widget=forms.TextInput(attrs=DECIMAL),
        error_messages={"required": _("Type the result.")},
    )
    sampled_at = LocalTimeField(label=_("Sampled"), error_messages={"required": _("Give the time of the sample.")})
    laboratory = forms.CharField(label=_("Laboratory or kit"), required=False, max_length=120)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("result_id", uuid4())
        self.initial.setdefault("sampled_at", timezone.now().replace(second=0, microsecond=0))

"""A calibration, as it is typed."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from haccp.calibration.measuring import MEASURES, MOST_POINTS, PointTyped, default_tolerance, unit_choices
from haccp.calibration.models import Calibration
from haccp.premises.form_fields import typed_number
from haccp.premises.local_time import LocalTimeField, begins_now
from haccp.premises.models import Instrument
from haccp.science.units import show_difference

Method = Calibration.Method
# How long a calibration counts unless somebody says otherwise. Common practice, no source.
VALID_DAYS = {
    Method.ICE_POINT: 92,
    Method.BOILING_POINT: 92,
    Method.REFERENCE: 183,
    Method.BUFFERS: 1,
    Method.CERTIFICATE: 365,
}
POINTS = {Method.ICE_POINT: 1, Method.BOILING_POINT: 1, Method.BUFFERS: 2, Method.REFERENCE: 3, Method.CERTIFICATE: 4}


class CalibrationForm(forms.Form):
    """The fields of one method. calibration_id is made with the form, so that a double tap is one calibration."""

    calibration_id = forms.UUIDField(widget=forms.HiddenInput)
    performed_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time of the calibration.")})
    valid_until = forms.DateField(
        label=_("It counts until"),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"required": _("Say until when it counts."), "invalid": _("Give a day, such as 2027-03-31.")},
    )
    reference = forms.CharField(label=_("Reference"), max_length=160, required=False)
    note = forms.CharField(label=_("Note"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, instrument: Instrument, method: str, today: date, unit: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instrument, self.method = instrument, Method(method)
        self.count = min(POINTS[self.method], MOST_POINTS)
        for i in range(self.count):
            self._add_point(i)
        if self.method == Method.BUFFERS:
            self.fields["buffer_temperature"] = typed_number(_("Temperature of the buffers, °C"))
            self.initial.setdefault("buffer_temperature", "20")
            self.initial.setdefault("true-0", "7.00")
            self.initial.setdefault("true-1", "4.01")
        else:
            self._add_comparison(unit)
        labels = {Method.REFERENCE: _("Reference instrument"), Method.CERTIFICATE: _("Number of the certificate")}
        if self.method in labels:
            self.fields["reference"].label = labels[self.method]
        else:
            del self.fields["reference"]
        self.initial.setdefault("calibration_id", uuid4())
        begins_now(self, "performed_at")
        self.initial.setdefault("valid_until", today + timedelta(days=VALID_DAYS[self.method]))

    def _add_point(self, i: int) -> None:
        is_buffer = self.method == Method.BUFFERS
        if is_buffer:
            self.fields[f"true-{i}"] = typed_number(_("pH of buffer %(number)d") % {"number": i + 1})
        elif self.method in (Method.REFERENCE, Method.CERTIFICATE):
            self.fields[f"true-{i}"] = typed_number(_("Reference, point %(number)d") % {"number": i + 1})
        unit = " (mV)" if is_buffer else ""
        mode = "text" if is_buffer or self.method == Method.ICE_POINT else "decimal"
        self.fields[f"found-{i}"] = typed_number(_("As found") if not unit else _("As found, mV"), mode=mode)
        self.fields[f"left-{i}"] = typed_number(_("As left") if not unit else _("As left, mV"), mode=mode)

    def _add_comparison(self, unit: str) -> None:
        quantity, _tolerance = MEASURES[Instrument.Kind(self.instrument.kind)]
        units = unit_choices(self.instrument)
        self.fields["unit"] = forms.ChoiceField(label=_("Unit"), choices=[(one, one) for one in units])
        chosen = unit if unit in units else units[0]
        self.initial.setdefault("unit", chosen)
        self.fields["tolerance"] = typed_number(
            _("Largest error allowed"), help_text=_("Either way, in the unit chosen.")
        )
        size = show_difference(quantity, default_tolerance(self.instrument), chosen).split()[0]
        self.initial.setdefault("tolerance", size)
        if self.method == Method.BOILING_POINT:
            self.fields["pressure"] = typed_number(
                _("Air pressure where it boils"),
                help_text=_("As a barometer there shows it, not reduced to sea level."),
            )
            self.fields["pressure_unit"] = forms.ChoiceField(
                label=_("Unit of the pressure"), choices=[(one, one) for one in ("hPa", "mbar", "kPa")]
            )
            self.fields["altitude"] = typed_number(
                _("Or the altitude, m"), help_text=_("Weather alone then leaves a degree of doubt."), mode="numeric"
            )
        if self.method in (Method.REFERENCE, Method.CERTIFICATE):
            self.fields["reference_uncertainty"] = typed_number(
                _("Uncertainty of the comparison"), help_text=_("U (k = 2), as the certificate states it.")
            )
        if self.method == Method.CERTIFICATE:
            self.fields["expanded_uncertainty"] = typed_number(
                _("Uncertainty of the instrument from now on"), help_text=_("U (k = 2); left empty, it stays.")
            )

    def point_fields(self) -> list[list[Any]]:
        """For the template: the fields of each point."""
        names = [[f"true-{i}", f"found-{i}", f"left-{i}"] for i in range(self.count)]
        return [[self[name] for name in row if name in self.fields] for row in names]

    def other_fields(self) -> list[Any]:
        names = (
            "buffer_temperature", "unit", "pressure", "pressure_unit", "altitude", "tolerance",
            "reference_uncertainty", "reference", "expanded_uncertainty",
        )  # fmt: skip
        return [self[name] for name in names if name in self.fields]

    def points(self) -> list[PointTyped]:
        typed = self.cleaned_data
        return [
            PointTyped(
                found=typed.get(f"found-{i}", ""), left=typed.get(f"left-{i}", ""), true=typed.get(f"true-{i}", "")
            )
            for i in range(self.count)
        ]

    def arguments(self) -> dict[str, Any]:
        """For the action, beside the points."""
        names = (
            "unit", "tolerance", "pressure", "pressure_unit", "altitude", "buffer_temperature", "reference",
            "reference_uncertainty", "expanded_uncertainty", "note", "performed_at", "valid_until", "calibration_id",
        )  # fmt: skip
        return {name: self.cleaned_data[name] for name in names if name in self.fields}

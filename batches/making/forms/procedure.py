"""A product's procedure, as it is typed: numbers in the person's units, kept in SI."""

from typing import Any

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext_lazy as _

from batches.intake.models import IngredientLot
from batches.making.dosing import DOSE_UNITS
from batches.making.families import NAMES
from batches.making.models import ProcedureStage, StageKind
from haccp.plan.models import MilkSpecies
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.units import from_si, read_typed

DECIMAL = {"inputmode": "decimal", "autocomplete": "off"}
# Field of ProcedureStage -> its quantity ("" for a bare number) and the unit that it is typed in
TYPED_IN = {
    "temperature_low_c": ("temperature", "°C"),
    "temperature_target_c": ("temperature", "°C"),
    "temperature_high_c": ("temperature", "°C"),
    "duration_low_s": ("duration", "min"),
    "duration_target_s": ("duration", "min"),
    "duration_high_s": ("duration", "min"),
    "ph_low": ("ph", "pH"),
    "ph_target": ("ph", "pH"),
    "ph_high": ("ph", "pH"),
    "acidity_low_percent": ("titratable_acidity", "°D"),
    "acidity_target_percent": ("titratable_acidity", "°D"),
    "acidity_high_percent": ("titratable_acidity", "°D"),
    "multiplier": ("", ""),
    "salt_percent": ("salt", "%"),
    "press_kg": ("mass", "kg"),
    "lever_advantage": ("", ""),
    "face_diameter_m": ("length", "cm"),
    "cheeses_side_by_side": ("", ""),
}
LABELS = {
    "temperature_low_c": _("at least"), "temperature_target_c": _("target"), "temperature_high_c": _("at most"),
    "duration_low_s": _("at least"), "duration_target_s": _("target"), "duration_high_s": _("at most"),
    "ph_low": _("at least"), "ph_target": _("target"), "ph_high": _("at most"),
    "acidity_low_percent": _("at least"), "acidity_target_percent": _("target"),
    "acidity_high_percent": _("at most"),
    "multiplier": _("Multiplier of the flocculation time"),
    "salt_percent": _("Salt, % of the curd"),
    "press_kg": _("Weight on the press, kg"),
    "lever_advantage": _("The lever multiplies it by"),
    "face_diameter_m": _("Diameter of the cheese, cm"),
    "cheeses_side_by_side": _("Cheeses side by side"),
}  # fmt: skip
GROUPS = (
    (_("Temperature"), ("temperature_low_c", "temperature_target_c", "temperature_high_c")),
    (_("Time, minutes"), ("duration_low_s", "duration_target_s", "duration_high_s")),
    (_("pH"), ("ph_low", "ph_target", "ph_high")),
    (_("Titratable acidity, °D"), ("acidity_low_percent", "acidity_target_percent", "acidity_high_percent")),
    (_("Flocculation"), ("multiplier",)),
    (_("Salt"), ("salt_percent",)),
    (_("Press"), ("press_kg", "lever_advantage", "face_diameter_m", "cheeses_side_by_side")),
)


class DraftForm(forms.Form):
    family = forms.ChoiceField(
        label=_("Start from the usual stages of"),
        required=False,
        choices=[("", _("an empty sheet")), *NAMES.items()],
        help_text=_("Common practice: every stage can be changed, moved and removed."),
    )


class StageDraftForm(forms.Form):
    kind = forms.ChoiceField(label=_("What is done"), choices=StageKind.choices)
    name = forms.CharField(
        label=_("Called"), required=False, max_length=80, help_text=_("Empty: as it is called above.")
    )
    instruction = forms.CharField(
        label=_("How it is done here"), required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: Any, scope: Scope, stage: ProcedureStage | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.temperature_unit = scope.user.preferred_unit("temperature") or "°C"
        for field, (quantity, unit) in TYPED_IN.items():
            value = getattr(stage, field) if stage is not None else None
            self.fields[field] = forms.CharField(
                label=LABELS[field],
                required=False,
                max_length=40,
                initial="" if value is None else _plain(quantity, value, self._unit(quantity, unit)),
                widget=forms.TextInput(attrs=DECIMAL),
            )
        if stage is not None:
            for name in ("kind", "name", "instruction"):
                self.initial.setdefault(name, getattr(stage, name))

    def _unit(self, quantity: str, unit: str) -> str:
        return self.temperature_unit if quantity == "temperature" else unit

    def groups(self) -> list[tuple[Any, list[BoundField], bool]]:
        """Heading, fields, and whether one of them is filled or wrong."""
        found = []
        for heading, names in GROUPS:
            fields = [self[name] for name in names]
            title = f"{heading} {self.temperature_unit}" if "temperature_low_c" in names else heading
            found.append((title, fields, any(field.value() or field.errors for field in fields)))
        return found

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        numbers: dict[str, float | None] = {}
        for field, (quantity, unit) in TYPED_IN.items():
            text = str(cleaned.get(field, "")).strip()
            try:
                numbers[field] = _read(quantity, text, self._unit(quantity, unit)) if text else None
            except InputError as error:
                self.add_error(field, str(error))
        cleaned["numbers"] = numbers
        return cleaned


def _plain(quantity: str, value: float, unit: str) -> str:
    return f"{from_si(quantity, value, unit) if quantity else value:.6g}"


def _read(quantity: str, text: str, unit: str) -> float:
    if quantity:
        return read_typed(quantity, text, unit).value_si
    # A count or a ratio: read as every typed number is
    return read_typed("pieces", text, "pc").value_si


class DoseForm(forms.Form):
    ingredient_kind = forms.ChoiceField(label=_("What is added"), choices=IngredientLot.Kind.choices)
    dose_name = forms.CharField(
        label=_("Which"), required=False, max_length=120, help_text=_("Part of the name on its label.")
    )
    amount = forms.CharField(
        label=_("How much"), max_length=40, widget=forms.TextInput(attrs=DECIMAL),
        error_messages={"required": _("Type how much is added.")},
    )  # fmt: skip
    unit = forms.ChoiceField(
        label=_("Unit"),
        choices=[(unit, _("IMCU (rennet by its strength)") if unit == "IMCU" else unit) for unit in DOSE_UNITS],
    )
    per_milk_l = forms.CharField(
        label=_("For how many litres of milk"), max_length=40, initial="100", widget=forms.TextInput(attrs=DECIMAL)
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for field, quantity, unit in (("amount", "pieces", "pc"), ("per_milk_l", "volume", "L")):
            if field in cleaned:
                try:
                    cleaned[field] = read_typed(quantity, cleaned[field], unit).value_si
                except InputError as error:
                    self.add_error(field, str(error))
        return cleaned


class MilkShareForm(forms.Form):
    species = forms.ChoiceField(label=_("Milk of"), choices=MilkSpecies.choices)
    share_low_percent = forms.FloatField(label=_("At least, % of the vat"), min_value=0, max_value=100, initial=0)
    share_high_percent = forms.FloatField(label=_("At most, % of the vat"), min_value=0, max_value=100, initial=100)


class PutInUseForm(forms.Form):
    note = forms.CharField(label=_("What changed, and why"), required=False, widget=forms.Textarea(attrs={"rows": 2}))

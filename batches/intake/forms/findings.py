"""What was found of milk, and its cooling curve, as they are typed."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4, uuid5

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext_lazy as _

from batches.intake.actions import FindingTyped
from batches.intake.models import MilkFinding
from haccp.premises.local_time import LocalTimeField, begins_now
from haccp.premises.models import Instrument
from haccp.premises.queries import instruments_of
from haccp.premises.scope import Scope
from haccp.science.units import QUANTITIES

Kind = MilkFinding.Kind
NUMBERS = (Kind.TEMPERATURE, Kind.PH, Kind.ACIDITY, Kind.FAT, Kind.PROTEIN, Kind.CASEIN)
COOLING_ROWS = 6


def in_capitals(kind: MilkFinding.Kind) -> str:
    """As a label begins: “Temperature”, but “pH”."""
    words = str(kind.label)
    return words if words.startswith("pH") else words[:1].upper() + words[1:]


def number_field(label: Any) -> forms.CharField:
    return forms.CharField(
        label=label, required=False, max_length=40,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )  # fmt: skip


def unit_field(quantity: str, preferred: str = "") -> forms.ChoiceField:
    units = [(unit, unit) for unit in QUANTITIES[quantity].units if unit != "K"]
    first = preferred if preferred in dict(units) else units[0][0]
    return forms.ChoiceField(label=_("Unit"), choices=units, initial=first, required=False)


def answer_field(kind: str) -> forms.ChoiceField:
    good, bad = {
        Kind.SENSES: (MilkFinding.Answer.GOOD, MilkFinding.Answer.OFF),
        Kind.RESIDUES: (MilkFinding.Answer.NEGATIVE, MilkFinding.Answer.POSITIVE),
    }[Kind(kind)]
    choices = [("", _("not tested") if kind == Kind.RESIDUES else _("not looked at"))]
    return forms.ChoiceField(
        label=in_capitals(Kind(kind)), required=False, widget=forms.RadioSelect,
        choices=[*choices, (good.value, good.label), (bad.value, bad.label)],
    )  # fmt: skip


class FindingsFields(forms.Form):
    """Fields for kinds of finding. Ids of the findings follow from base_id, so that a double tap is one of each."""

    kinds: tuple[str, ...] = ()

    def add_kinds(self, kinds: Iterable[str], scope: Scope) -> None:
        self.kinds = tuple(kinds)
        for kind in self.kinds:
            if kind in NUMBERS:
                self.fields[kind] = number_field(in_capitals(Kind(kind)))
                self.fields[f"{kind}_unit"] = unit_field(kind, scope.user.preferred_unit(kind))
            else:
                self.fields[kind] = answer_field(kind)

    def rows(self) -> list[tuple[BoundField, BoundField | None]]:
        """Each field with that of its unit, None where there is nothing to choose."""
        return [(self[kind], self[f"{kind}_unit"] if f"{kind}_unit" in self.fields else None) for kind in self.kinds]

    def typed(self, base_id: UUID, observed_at: datetime, **more: Any) -> list[FindingTyped]:
        return [
            FindingTyped(
                finding_id=uuid5(base_id, kind),
                kind=kind,
                text=text,
                unit=self.cleaned_data.get(f"{kind}_unit", ""),
                observed_at=observed_at,
                **more,
            )
            for kind in self.kinds
            if (text := str(self.cleaned_data.get(kind, "")).strip())
        ]


class FindingForm(FindingsFields):
    base_id = forms.UUIDField(widget=forms.HiddenInput)
    observed_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time of the test.")})
    instrument = forms.ModelChoiceField(
        label=_("Measured with"), queryset=Instrument.objects.none(), required=False, empty_label=_("not said")
    )
    note = forms.CharField(label=_("Note"), required=False)

    def __init__(self, *args: Any, scope: Scope, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.add_kinds(Kind.values, scope)
        instrument = self.fields["instrument"]
        assert isinstance(instrument, forms.ModelChoiceField)
        instrument.queryset = instruments_of(scope.premises)
        self.initial.setdefault("base_id", uuid4())
        begins_now(self, "observed_at")


class CoolingForm(forms.Form):
    """Several temperatures at their times: a cooling curve read off by hand."""

    base_id = forms.UUIDField(widget=forms.HiddenInput)
    unit = forms.ChoiceField(label=_("Unit"), choices=[("°C", "°C"), ("°F", "°F")])
    instrument = forms.ModelChoiceField(
        label=_("Measured with"), queryset=Instrument.objects.none(), required=False, empty_label=_("not said")
    )

    def __init__(self, *args: Any, scope: Scope, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        instrument = self.fields["instrument"]
        assert isinstance(instrument, forms.ModelChoiceField)
        instrument.queryset = instruments_of(scope.premises, Instrument.Kind.THERMOMETER)
        self.initial.setdefault("base_id", uuid4())
        self.initial.setdefault("unit", scope.user.preferred_unit("temperature"))
        for n in range(1, COOLING_ROWS + 1):
            self.fields[f"at_{n}"] = LocalTimeField(label=_("Time %(n)s") % {"n": n}, required=False)
            self.fields[f"temperature_{n}"] = number_field(_("Temperature %(n)s") % {"n": n})

    def pairs(self) -> list[tuple[BoundField, BoundField]]:
        return [(self[f"at_{n}"], self[f"temperature_{n}"]) for n in range(1, COOLING_ROWS + 1)]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for n in range(1, COOLING_ROWS + 1):
            at, text = cleaned.get(f"at_{n}"), str(cleaned.get(f"temperature_{n}", "")).strip()
            if text and at is None and f"at_{n}" not in self.errors:
                self.add_error(f"at_{n}", _("Give the time of this temperature."))
            if at is not None and not text:
                self.add_error(f"temperature_{n}", _("Type the temperature that was read then."))
        return cleaned

    def typed(self) -> list[FindingTyped]:
        data = self.cleaned_data
        return [
            FindingTyped(
                finding_id=uuid5(data["base_id"], f"cooling {n}"),
                kind=Kind.TEMPERATURE,
                text=data[f"temperature_{n}"],
                unit=data["unit"],
                observed_at=data[f"at_{n}"],
                instrument_id=data["instrument"].pk if data["instrument"] else None,
                field=f"temperature_{n}",
            )
            for n in range(1, COOLING_ROWS + 1)
            if str(data.get(f"temperature_{n}", "")).strip()
        ]

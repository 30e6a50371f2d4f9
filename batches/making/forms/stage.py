"""A stage of the make sheet, as it is typed or timed on the spot."""

from datetime import datetime, time, timedelta
from typing import Any
from uuid import UUID, uuid4, uuid5

from django import forms
from django.forms.boundfield import BoundField
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from batches.making.actions import ReadingTyped, UseTyped
from batches.making.brines import brines_at
from batches.making.dosing import ScaledDose
from batches.making.models import Make, StageKind, StageMark, StageReading
from batches.making.sheet import StageState
from haccp.premises.local_time import LocalTimeField
from haccp.premises.models import Instrument
from haccp.premises.queries import instruments_of
from haccp.premises.scope import Scope
from haccp.science.units import QUANTITIES, from_si

What = StageReading.What
DECIMAL = {"inputmode": "decimal", "autocomplete": "off"}
LABELS = {
    What.TEMPERATURE: _("Temperature"),
    What.PH: _("pH"),
    What.ACIDITY: _("Titratable acidity"),
    What.CURD: _("Weight of the curd"),
    What.PRESS: _("Weight on the press"),
}
ASKED_AT = {
    What.CURD: (StageKind.DRAIN, StageKind.MOULD, StageKind.PRESS, StageKind.SALT),
    What.PRESS: (StageKind.PRESS,),
}
MEASURED_WITH = {
    What.TEMPERATURE: Instrument.Kind.THERMOMETER,
    What.PH: Instrument.Kind.PH_METER,
    What.CURD: Instrument.Kind.SCALE,
}


# A mark written down later than this after its moment was typed from paper, not timed on the spot
FROM_PAPER = timedelta(hours=1)


class StageForm(forms.Form):
    """what comes with the button that was pressed. at: empty means now, to the second. A dose that has a lot to be
    taken from gets a field for the lot and one for the amount, filled with what the vat asks for."""

    mark_id = forms.UUIDField(widget=forms.HiddenInput)
    what = forms.ChoiceField(
        choices=StageMark.What.choices,
        widget=forms.HiddenInput,
        error_messages={"required": _("Press one of the buttons."), "invalid_choice": _("Press one of the buttons.")},
    )
    at = LocalTimeField(label=_("When"), required=False, help_text=_("Leave it empty for now, to the second."))
    note = forms.CharField(label=_("Note"), required=False)
    exception = forms.CharField(
        label=_("Why it is used all the same"),
        required=False,
        help_text=_("Only for an ingredient that may not be used; it opens a deviation."),
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    corrects_id = forms.UUIDField(widget=forms.HiddenInput, required=False)
    reason = forms.CharField(label=_("Why it is corrected"), required=False)

    def __init__(self, *args: Any, state: StageState, make: Make, scope: Scope, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.state = state
        self.initial.setdefault("mark_id", uuid4())
        self.day_offered = _day_from_paper(make)
        if self.day_offered is not None and "at" not in self.initial:
            self.initial["at"] = self.day_offered
            self.fields["at"].help_text = _("The day typed last: type the time of day, or empty it for now.")
        self.kinds = [what for what in What if what not in ASKED_AT or StageKind(state.stage.kind) in ASKED_AT[what]]
        instruments = list(instruments_of(scope.premises))
        for what in self.kinds:
            self._add_reading(what, scope, instruments)
        self.doses = [dose for dose in state.doses if dose.lots]
        if StageKind(state.stage.kind) == StageKind.SALT:
            self._offer_brines(make, scope)
        for dose in self.doses:
            self._add_dose(dose)

    def _offer_brines(self, make: Make, scope: Scope) -> None:
        """Of those in use; none where the dairy has none, or the batch lies in one already."""
        choices: list[tuple[str, Any]] = [
            (str(one.pk), f"{one.lot.code} · {one.tank.name}")
            for one in brines_at(scope.premises, only_in_use=True).filter(is_held=False)
        ]
        if choices and not make.brinings.exists():
            self.fields["brine"] = forms.ChoiceField(
                label=_("Brine"), choices=[("", _("none: dry, or not now")), *choices], required=False
            )

    def _add_reading(self, what: What, scope: Scope, instruments: list[Instrument]) -> None:
        quantity = "mass" if what in (What.CURD, What.PRESS) else str(what)
        units = [(unit, unit) for unit in QUANTITIES[quantity].units if unit not in ("K", "t")]
        preferred = scope.user.preferred_unit(quantity)
        self.fields[what] = forms.CharField(
            label=LABELS[what], required=False, max_length=40, widget=forms.TextInput(attrs=DECIMAL)
        )
        self.fields[f"{what}_unit"] = forms.ChoiceField(
            label=_("Unit"), choices=units, required=False, initial=preferred or units[0][0]
        )
        fit = [one for one in instruments if one.kind == MEASURED_WITH.get(what)]
        if fit:
            choices: list[tuple[str, Any]] = [("", _("not said")), *((str(one.pk), one.name) for one in fit)]
            self.fields[f"{what}_with"] = forms.ChoiceField(
                label=_("Measured with"), choices=choices, required=False, initial=str(fit[0].pk)
            )

    def _add_dose(self, dose: ScaledDose) -> None:
        key = dose.dose.pk
        choices: list[tuple[str, Any]] = [("", _("not now"))]
        choices += [(str(lot.pk), f"{lot.name} · {lot.lot.code}") for lot in dose.lots]
        is_in = any(use.dose_id == key for use in self.state.uses)
        self.fields[f"lot_{key}"] = forms.ChoiceField(
            label=str(dose.dose), choices=choices, required=False, initial="" if is_in else str(dose.lots[0].pk)
        )
        amount = "" if dose.amount_si is None else f"{from_si(dose.quantity, dose.amount_si, dose.unit):.3g}"
        self.fields[f"amount_{key}"] = forms.CharField(
            label=_("How much, in %(unit)s") % {"unit": dose.unit},
            required=False,
            max_length=40,
            initial=amount,
            widget=forms.TextInput(attrs=DECIMAL),
        )

    def reading_rows(self) -> list[tuple[BoundField, BoundField, BoundField | None]]:
        return [
            (self[what], self[f"{what}_unit"], self[f"{what}_with"] if f"{what}_with" in self.fields else None)
            for what in self.kinds
        ]

    def dose_rows(self) -> list[tuple[ScaledDose, BoundField, BoundField]]:
        return [(dose, self[f"lot_{dose.dose.pk}"], self[f"amount_{dose.dose.pk}"]) for dose in self.doses]

    def clean_at(self) -> datetime | None:
        typed: datetime | None = self.cleaned_data["at"]
        if typed is not None and typed == self.day_offered:
            raise forms.ValidationError(_("Type the time of day too, or empty the field for now."))
        return typed

    def moment(self) -> datetime:
        typed: datetime | None = self.cleaned_data.get("at")
        return typed or timezone.now()

    def brine_id(self) -> UUID | None:
        chosen = self.cleaned_data.get("brine")
        return UUID(chosen) if chosen else None

    def readings(self) -> list[ReadingTyped]:
        data = self.cleaned_data
        return [
            ReadingTyped(str(what), text, data.get(f"{what}_unit", ""), data.get(f"{what}_with") or None)
            for what in self.kinds
            if (text := str(data.get(what, "")).strip())
        ]

    def uses(self) -> list[UseTyped]:
        """Those with a lot chosen, unless the stage only began to be read or was left out."""
        data = self.cleaned_data
        if data["what"] not in (StageMark.What.BEGUN, StageMark.What.DONE) or data.get("corrects_id"):
            return []
        return [
            UseTyped(
                use_id=uuid5(data["mark_id"], str(dose.dose.pk)),
                lot_id=data[f"lot_{dose.dose.pk}"],
                amount=str(data.get(f"amount_{dose.dose.pk}", "")),
                unit=dose.unit,
                dose_id=dose.dose.pk,
                field=f"amount_{dose.dose.pk}",
            )
            for dose in self.doses
            if data.get(f"lot_{dose.dose.pk}")
        ]


def _day_from_paper(make: Make) -> datetime | None:
    """The start of the day of what was noted last, where that was written down long after; None where it was timed on
    the spot."""
    last = make.marks.order_by("-recorded_at", "-at").values_list("at", "recorded_at").first()
    at, recorded_at = last or (make.lot.begun_at, make.lot.recorded_at)
    if recorded_at - at < FROM_PAPER:
        return None
    zone = make.lot.premises.zone
    return datetime.combine(at.astimezone(zone).date(), time.min, tzinfo=zone)


def as_it_was(mark: StageMark) -> dict[str, Any]:
    """The form's first values for a correction: all that the mark says now."""
    initial: dict[str, Any] = {"corrects_id": mark.pk, "at": mark.at, "what": mark.what, "note": mark.note}
    for one in mark.readings.all():
        initial |= {one.what: one.typed_text, f"{one.what}_unit": one.typed_unit}
        initial[f"{one.what}_with"] = str(one.instrument_id or "")
    return initial

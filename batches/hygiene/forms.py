"""Forms about cleaning and swabs."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.hygiene.actions import StepTyped
from batches.hygiene.models import Chemical, ChemicalLot, Method, MethodStep, Swab, SwabPoint, SwabResult
from batches.laboratory.forms import SentForm
from haccp.checks.forms.entries import EntriesForm
from haccp.plan.models import Check, ControlPoint
from haccp.premises.local_time import LocalTimeField
from haccp.premises.models import Place

HOUR = 3600


def _id() -> forms.UUIDField:
    return forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)


def _day(label: Any, *, required: bool = True) -> forms.DateField:
    return forms.DateField(
        label=label,
        required=required,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": _("That is no day of the calendar; give one such as 2026-01-31.")},
    )


def _count(label: Any, most: int) -> forms.IntegerField:
    return forms.IntegerField(
        label=label, min_value=1, max_value=most, widget=forms.TextInput(attrs={"inputmode": "numeric"})
    )


class CleaningForm(EntriesForm):
    """The entries of the check, and from which lot each chemical of the method was: "lot-<chemical id>"."""

    def __init__(
        self,
        *args: Any,
        method: Method,
        lots: Mapping[UUID, Sequence[ChemicalLot]],
        last: Mapping[UUID, UUID],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.lot_names = []
        for chemical in method.chemicals.all():
            name = f"lot-{chemical.id}"
            choices = [(str(lot.id), lot_words(lot)) for lot in lots.get(chemical.id, ())]
            self.fields[name] = forms.TypedChoiceField(
                label=f"Lot of the {chemical.name}",
                choices=[("", "choose the lot"), *choices],
                coerce=UUID,
                initial=last.get(chemical.id) or (choices[0][0] if len(choices) == 1 else None),
                error_messages={"required": f"Say from which lot the {chemical.name} was."},
            )
            self.lot_names.append(name)

    def lot_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in self.lot_names]

    def lot_ids(self) -> list[UUID]:
        return [self.cleaned_data[name] for name in self.lot_names]


def lot_words(lot: ChemicalLot) -> str:
    return f"{lot.code}, use by {lot.expires_on.isoformat()}" if lot.expires_on else lot.code


class ChemicalForm(forms.Form):
    chemical_id = _id()
    name = forms.CharField(label=_("Name on the label"), max_length=80)
    active = forms.CharField(label=_("Active substance"), max_length=80, required=False)
    purpose = forms.ChoiceField(label=_("What it is for"), choices=Chemical.Purpose.choices)


class ChemicalLotForm(forms.Form):
    lot_id = _id()
    code = forms.CharField(label=_("Lot, as it stands on the can"), max_length=40)
    expires_on = _day(_("Use by"), required=False)


class MethodForm(forms.Form):
    """steps: one a line, each begun with its kind, such as “rinse: cold water”."""

    method_id = _id()
    name = forms.CharField(label=_("Name of the method"), max_length=120)
    check_key = forms.TypedChoiceField(
        label=_("Check of the plan that is entered with it"),
        coerce=UUID,
        help_text=_("Its limits say how strong, how warm and how long; they judge each cleaning."),
    )
    chemicals = forms.TypedMultipleChoiceField(
        label=_("Chemicals"), coerce=UUID, required=False, widget=forms.CheckboxSelectMultiple
    )
    steps = forms.CharField(
        label=_("Steps"),
        widget=forms.Textarea(attrs={"rows": 7}),
        help_text=_("One a line. Begin a line with rinse, wash, sanitise, drain or look, and a colon."),
    )
    before_use = forms.BooleanField(label=_("It must be clean before it is used"), required=False, initial=True)
    keeps_clean_h = forms.IntegerField(
        label=_("Stays clean unused for … hours"),
        required=False,
        min_value=1,
        max_value=8760,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
        help_text=_("Empty: until it is used."),
    )

    def __init__(self, *args: Any, checks: Sequence[Check], chemicals: Sequence[Chemical], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["check_key"].choices = [("", "choose the check"), *((one.key, one.name) for one in checks)]  # type: ignore[attr-defined]
        self.fields["chemicals"].choices = [(str(one.id), one.name) for one in chemicals]  # type: ignore[attr-defined]

    def clean_steps(self) -> list[StepTyped]:
        found = []
        for line in filter(None, (line.strip() for line in self.cleaned_data["steps"].splitlines())):
            kind, colon, text = line.partition(":")
            known = {label.split(" ")[0].lower(): value for value, label in MethodStep.Kind.choices}
            known |= {value: value for value in MethodStep.Kind.values}
            if not colon or kind.strip().lower() not in known or not text.strip():
                raise forms.ValidationError(
                    f"“{line[:60]}”: begin it with rinse, wash, sanitise, drain or look, a colon, and say what is done."
                )
            if len(text.strip()) > 400:
                raise forms.ValidationError(f"“{line[:60]}…” is too long; make two steps of it.")
            found.append(StepTyped(known[kind.strip().lower()], text.strip()))
        return found

    def arguments(self) -> dict[str, Any]:
        """What method_set takes, of a valid form."""
        typed = self.cleaned_data
        hours = typed["keeps_clean_h"]
        return {
            "method_id": typed["method_id"],
            "name": typed["name"],
            "check_key": typed["check_key"],
            "chemical_ids": typed["chemicals"],
            "steps": typed["steps"],
            "before_use": typed["before_use"],
            "keeps_clean_s": hours * HOUR if hours else None,
        }


def initial_of(method: Method) -> dict[str, Any]:
    return {
        "name": method.name,
        "check_key": str(method.check_key),
        "chemicals": [str(one.id) for one in method.chemicals.all()],
        "steps": "\n".join(f"{step.kind}: {step.text}" for step in method.steps.all()),
        "before_use": method.before_use,
        "keeps_clean_h": method.keeps_clean_s // HOUR if method.keeps_clean_s else None,
    }


class UseForm(forms.Form):
    use_id = _id()
    places = forms.TypedMultipleChoiceField(
        label=_("What was used"),
        coerce=UUID,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Choose what was used.")},
    )
    used_at = LocalTimeField(label=_("From when on"))
    in_spite_of = forms.CharField(
        label=_("If it was not clean: why it was used all the same"),
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("This opens a deviation. Leave it empty when all is clean."),
    )

    def __init__(self, *args: Any, places: Sequence[Place], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["places"].choices = [(str(one.id), one.name) for one in places]  # type: ignore[attr-defined]


class SwabPointForm(forms.Form):
    point_id = _id()
    place_id = forms.TypedChoiceField(label=_("Place"), coerce=UUID)
    name = forms.CharField(label=_("Where exactly"), max_length=80, help_text=_("Such as “drain by the door”."))
    zone = forms.TypedChoiceField(label=_("Zone"), coerce=int, choices=SwabPoint.Zone.choices)

    def __init__(self, *args: Any, places: Sequence[Place], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["place_id"].choices = [("", "choose"), *((str(one.id), one.name) for one in places)]  # type: ignore[attr-defined]


class RotaForm(forms.Form):
    rota_id = _id()
    zone = forms.TypedChoiceField(label=_("Zone"), coerce=int, choices=SwabPoint.Zone.choices)
    first_on = _day(_("First on"))
    every_days = _count(_("Every … days"), 366)
    at_once = _count(_("Swabs at a time"), 100)
    control_point_code = forms.ChoiceField(label=_("A find is a deviation of"))

    def __init__(self, *args: Any, points: Sequence[ControlPoint], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["control_point_code"].choices = [(one.code, str(one)) for one in points]  # type: ignore[attr-defined]


class SwabForm(forms.Form):
    swab_id = _id()
    code = forms.CharField(label=_("Code on the tube"), max_length=40)
    taken_at = LocalTimeField(label=_("When it was taken"))


class SwabResultForm(forms.Form):
    found = forms.ChoiceField(label=_("What was found"), choices=SwabResult.Found.choices, widget=forms.RadioSelect)
    laboratory = forms.CharField(label=_("Laboratory"), max_length=120)
    report = forms.CharField(label=_("Number of the report"), max_length=80, required=False)
    reported_on = _day(_("Reported on"))


class SwabsSendForm(SentForm):
    """Which of the swabs that wait go to which laboratory."""

    swabs = forms.TypedMultipleChoiceField(
        label=_("Swabs"),
        coerce=UUID,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Choose the swabs that are sent.")},
    )
    laboratory = forms.CharField(
        label=_("Laboratory"),
        max_length=120,
        widget=forms.TextInput(attrs={"list": "earlier-laboratories", "autocomplete": "off"}),
        error_messages={"required": _("Say which laboratory examines them; “own” if you do it yourself.")},
    )

    def __init__(self, *args: Any, swabs: Sequence[Swab], temperature_unit: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["swabs"]
        field.choices = [(str(one.pk), f"{one.code}: {one.point} (zone {one.point.zone})") for one in swabs]  # type: ignore[attr-defined]
        self.initial.setdefault("swabs", [str(one.pk) for one in swabs])
        self.initial.setdefault("temperature_unit", temperature_unit)

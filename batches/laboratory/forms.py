"""A sample and its results, as they are typed."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from batches.laboratory.actions import TestAsked
from batches.laboratory.criteria import Criterion
from batches.laboratory.models import LISTERIA_SPECIES, SampleTest, TestResult
from haccp.lots.models import Lot
from haccp.plan.models import ControlPoint, PlanRevision
from haccp.premises.local_time import LocalTimeField, begins_now, keep_current
from haccp.premises.models import Place, Premises
from haccp.premises.queries import places_of
from haccp.science.units import QUANTITIES

Kind = SampleTest.Kind
OFFERED_FOR = timedelta(days=400)
# What a dairy has measured of a cheese, by key of haccp.science.units
MEASURED = ("moisture", "salt", "ph", "water_activity", "fat")
OWN_ROWS = 2
MONOCYTOGENES_DETECTED = "Listeria monocytogenes detected"


def _number(label: Any, help_text: Any = "") -> forms.FloatField:
    return forms.FloatField(
        label=label,
        required=False,
        min_value=0,
        localize=False,
        help_text=help_text,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        error_messages={"invalid": _("Type a number in digits."), "min_value": _("A count is zero or more.")},
    )


class SentForm(forms.Form):
    """What goes to a laboratory: when it was sent, and how warm it was."""

    sent_at = LocalTimeField(label=_("Sent"), required=False)
    temperature = forms.CharField(
        label=_("Temperature when sent"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    temperature_unit = forms.ChoiceField(label=_("Unit"), choices=[("°C", "°C"), ("°F", "°F")])


class SampleForm(SentForm):
    """sample_id is made with the form, so that a double tap is one sample.

    Each criterion has a box to tick and a number of units; below them stand what is measured, and rows for a plan of
    the dairy's own.
    """

    sample_id = forms.UUIDField(widget=forms.HiddenInput)
    lot = forms.ModelChoiceField(
        label=_("Lot"), queryset=Lot.objects.none(), required=False, empty_label=_("no lot: a place")
    )
    place = forms.ModelChoiceField(
        label=_("Place"),
        queryset=Place.objects.none(),
        required=False,
        empty_label=_("no place: a lot"),
        help_text=_("For a sample of the surroundings."),
    )
    spot = forms.CharField(
        label=_("Where exactly"), max_length=120, required=False, help_text=_("The drain, the rind, the third shelf.")
    )
    laboratory = forms.CharField(
        label=_("Laboratory"),
        max_length=120,
        help_text=_("Write “own” if you examine it yourself."),
        widget=forms.TextInput(attrs={"list": "earlier-laboratories", "autocomplete": "off"}),
        error_messages={"required": _("Say which laboratory examines it; “own” if you do it yourself.")},
    )
    taken_at = LocalTimeField(label=_("Taken"), error_messages={"required": _("Give the time when it was taken.")})
    verifies = forms.ModelChoiceField(
        label=_("Shows the working of"),
        queryset=ControlPoint.objects.none(),
        required=False,
        empty_label=_("the one that fits what is examined"),
        help_text=_("The control point of the plan that a bad result would put in doubt."),
    )
    fewer_because = forms.CharField(
        label=_("Why fewer units than the criterion asks for"),
        max_length=500,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    note = forms.CharField(label=_("Note"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(
        self,
        *args: Any,
        premises: Premises,
        revision: PlanRevision | None,
        criteria: Sequence[Criterion],
        temperature_unit: str,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.criteria = list(criteria)
        now = timezone.now()
        self._choices("lot").queryset = Lot.objects.for_premises(premises).filter(
            Q(begun_at__gt=now - OFFERED_FOR) | Q(kind=Lot.Kind.BRINE)
        )
        self._choices("place").queryset = places_of(premises)
        self._choices("verifies").queryset = ControlPoint.objects.filter(revision=revision).order_by("kind", "code")
        self.initial.setdefault("sample_id", uuid4())
        self.initial.setdefault("taken_at", now.replace(second=0, microsecond=0))
        self.initial.setdefault("temperature_unit", temperature_unit)
        keep_current(self, "taken_at")
        for one in self.criteria:
            self.fields[f"criterion-{one.key}"] = forms.BooleanField(label=one.title, required=False)
            self.fields[f"units-{one.key}"] = forms.IntegerField(
                label=_("Units"),
                required=False,
                min_value=1,
                max_value=60,
                initial=one.n,
                widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
            )
        for key in MEASURED:
            self.fields[f"measured-{key}"] = forms.BooleanField(
                label=QUANTITIES[key].name.capitalize() if key != "ph" else "pH", required=False
            )
        for i in range(OWN_ROWS):
            self._add_own(i)

    def _choices(self, name: str) -> "forms.ModelChoiceField[Any]":
        field = self.fields[name]
        assert isinstance(field, forms.ModelChoiceField)
        return field

    def _add_own(self, i: int) -> None:
        self.fields[f"own-{i}-kind"] = forms.ChoiceField(
            label=_("How it is judged"), choices=[(Kind.COUNT, _("count")), (Kind.ABSENCE, _("must be absent"))]
        )
        self.fields[f"own-{i}-parameter"] = forms.CharField(
            label=_("Looked for"), max_length=120, required=False, help_text=_("An organism, or a toxin.")
        )
        self.fields[f"own-{i}-n"] = forms.IntegerField(
            label=_("n: units"), required=False, min_value=1, max_value=60, initial=1,
            widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
        )  # fmt: skip
        self.fields[f"own-{i}-c"] = forms.IntegerField(
            label=_("c: above m at most"), required=False, min_value=0, max_value=59, initial=0,
            widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
        )  # fmt: skip
        self.fields[f"own-{i}-m"] = _number(_("m"))
        self.fields[f"own-{i}-largest"] = _number(_("M"))
        self.fields[f"own-{i}-unit"] = forms.ChoiceField(
            label=_("Unit"), choices=[(u, u) for u in ("cfu/g", "cfu/mL", "cfu/cm²", "cfu/25 g")]
        )
        self.fields[f"own-{i}-amount"] = forms.CharField(
            label=_("absent in"), max_length=16, required=False, initial="25 g"
        )

    def criterion_fields(self) -> list[tuple[Criterion, Any, Any]]:
        """For the template: criterion, box, units."""
        return [(one, self[f"criterion-{one.key}"], self[f"units-{one.key}"]) for one in self.criteria]

    def measured_fields(self) -> list[Any]:
        return [self[f"measured-{key}"] for key in MEASURED]

    def own_fields(self) -> list[list[Any]]:
        names = ("parameter", "kind", "n", "c", "m", "largest", "unit", "amount")
        return [[self[f"own-{i}-{name}"] for name in names] for i in range(OWN_ROWS)]

    def tests(self) -> list[TestAsked]:
        """What was ticked and typed, in the order of the page."""
        typed = self.cleaned_data
        return [*self._of_criteria(typed), *self._of_own(typed), *self._measured(typed)]

    def _of_criteria(self, typed: dict[str, Any]) -> list[TestAsked]:
        return [
            TestAsked(
                kind=one.kind,
                parameter=one.organism,
                n=(units := typed.get(f"units-{one.key}") or one.n),
                c=min(one.c, units - 1),
                m=one.m,
                largest=one.largest,
                unit=one.unit,
                absent_in=one.absent_in,
                criterion=one.key,
                source=one.source,
                fewer_because=typed.get("fewer_because", "") if units < one.n else "",
                criterion_n=one.n,
            )
            for one in self.criteria
            if typed.get(f"criterion-{one.key}")
        ]

    def _of_own(self, typed: dict[str, Any]) -> list[TestAsked]:
        found = []
        for i in range(OWN_ROWS):
            parameter = (typed.get(f"own-{i}-parameter") or "").strip()
            if parameter:
                is_count = typed[f"own-{i}-kind"] == Kind.COUNT
                found.append(
                    TestAsked(
                        kind=typed[f"own-{i}-kind"],
                        parameter=parameter,
                        n=typed.get(f"own-{i}-n") or 1,
                        c=typed.get(f"own-{i}-c") or 0,
                        m=typed.get(f"own-{i}-m") if is_count else None,
                        largest=typed.get(f"own-{i}-largest") if is_count else None,
                        unit=typed[f"own-{i}-unit"] if is_count else "",
                        absent_in="" if is_count else typed.get(f"own-{i}-amount", ""),
                        source=str(_("the dairy's own plan of samples")),
                    )
                )
        return found

    def _measured(self, typed: dict[str, Any]) -> list[TestAsked]:
        return [
            TestAsked(kind=Kind.QUANTITY, parameter=key, unit=QUANTITIES[key].si_unit)
            for key in MEASURED
            if typed.get(f"measured-{key}")
        ]


class ResultForm(forms.Form):
    """A field for each unit of the test. result_id is made with the form."""

    result_id = forms.UUIDField(widget=forms.HiddenInput)
    replaces_id = forms.UUIDField(widget=forms.HiddenInput, required=False)
    reported_at = LocalTimeField(
        label=_("Reported"), error_messages={"required": _("Give the time of the laboratory's report.")}
    )
    method = forms.CharField(
        label=_("Method"),
        max_length=120,
        required=False,
        help_text=_("As the report names it, for example ISO 6888-2."),
    )
    report_number = forms.CharField(label=_("Number of the report"), max_length=80, required=False)
    replace_reason = forms.CharField(
        label=_("Why the earlier result is replaced"),
        max_length=500,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: Any, test: SampleTest, earlier: TestResult | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.test = test
        for i in range(test.n):
            self.fields[f"value-{i}"] = self._value(i)
            if earlier is not None and i < len(earlier.values):
                self.initial.setdefault(f"value-{i}", earlier.values[i])
        self.initial.setdefault("result_id", uuid4())
        self.initial.setdefault("replaces_id", earlier.pk if earlier else None)
        begins_now(self, "reported_at")
        if earlier is None:
            del self.fields["replace_reason"]

    def _value(self, i: int) -> forms.Field:
        label = _("Unit %(number)d") % {"number": i + 1} if self.test.n > 1 else _("Result")
        if self.test.kind == Kind.ABSENCE:
            choices = [("", _("no result yet")), ("not detected", _("not detected")), ("detected", _("detected"))]
            if self.test.parameter == LISTERIA_SPECIES:
                choices.append((MONOCYTOGENES_DETECTED, _("detected: Listeria monocytogenes")))
            return forms.ChoiceField(label=label, choices=choices, required=False)
        mode = "text" if self.test.kind == Kind.COUNT else "decimal"
        return forms.CharField(
            label=label,
            max_length=60,
            required=False,
            widget=forms.TextInput(attrs={"inputmode": mode, "autocomplete": "off"}),
        )

    def value_fields(self) -> list[Any]:
        return [self[f"value-{i}"] for i in range(self.test.n)]

    def values(self) -> list[str]:
        return [self.cleaned_data.get(f"value-{i}", "") for i in range(self.test.n)]

    def replaces(self) -> UUID | None:
        found: UUID | None = self.cleaned_data.get("replaces_id")
        return found

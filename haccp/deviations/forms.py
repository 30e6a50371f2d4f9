"""What a person types about a deviation: a report, each step, the closing signature."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from haccp.deviations.actions.steps import ASK
from haccp.deviations.models import CorrectiveStep, ImplicatedLot
from haccp.lots.models import Lot
from haccp.plan.models import ControlPoint, PlanRevision
from haccp.premises.local_time import LocalTimeField, begins_now
from haccp.premises.models import Premises, User

Kind = CorrectiveStep.Kind
LATEST_LOTS = 100  # of those to choose from in a report; what is older is found by its deviation


class LotsField(forms.ModelMultipleChoiceField):  # type: ignore[type-arg]  # generic in the stubs only
    def label_from_instance(self, obj: Lot) -> str:
        what = obj.product.name if obj.product else obj.get_kind_display()
        return f"{obj.code} {what}"


class ReportForm(forms.Form):
    """deviation_id is made with the form, so that a double tap is one report."""

    deviation_id = forms.UUIDField(widget=forms.HiddenInput)
    summary = forms.CharField(
        label=_("What happened"),
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": _("Say in a sentence what happened.")},
    )
    control_point = forms.ModelChoiceField(
        label=_("Which control point of the plan it concerns"),
        queryset=ControlPoint.objects.none(),
        empty_label=_("choose"),
        error_messages={"required": _("Choose the control point of the plan that this concerns.")},
    )
    is_complaint = forms.BooleanField(label=_("A customer complained"), required=False)
    origin_unknown = forms.BooleanField(
        label=_("Something was found that does not belong there, and nobody knows where it came from"),
        required=False,
        help_text=_(
            "A germ, glass, a residue. What shares milk, an ingredient, a vat or a room is then implicated too."
        ),
    )
    occurred_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time when it happened.")})
    lots = LotsField(
        label=_("Lots that it may have touched"),
        queryset=Lot.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=_("What was made from them is added. A critical control point holds them all at once."),
    )

    def __init__(
        self, *args: Any, revision: PlanRevision | None, lots: QuerySet[Lot], chosen: UUID | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        point, offered = self.fields["control_point"], self.fields["lots"]
        assert isinstance(point, forms.ModelChoiceField)
        assert isinstance(offered, LotsField)
        point.queryset = ControlPoint.objects.filter(revision=revision)
        offered.queryset = lots
        self.initial.setdefault("deviation_id", uuid4())
        begins_now(self, "occurred_at")
        if chosen is not None:
            self.initial.setdefault("lots", [chosen])


class StepForm(forms.Form):
    """One step of the corrective action; step_id is made with the form."""

    step_id = forms.UUIDField(widget=forms.HiddenInput)
    kind = forms.ChoiceField(choices=Kind.choices, widget=forms.HiddenInput)
    text = forms.CharField(label=_("In your words"), widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *args: Any, kind: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["text"].label = ASK[Kind(kind)].rstrip(".")
        self.fields["text"].error_messages["required"] = ASK[Kind(kind)]
        self.initial.setdefault("step_id", uuid4())
        self.initial.setdefault("kind", kind)


class DispositionForm(StepForm):
    """What happens to one implicated lot, and why that is safe."""

    lot = forms.UUIDField(widget=forms.HiddenInput)
    disposition = forms.ChoiceField(
        label=_("What happens to it"),
        choices=CorrectiveStep.Disposition.choices,
        widget=forms.RadioSelect,
        error_messages={"required": _("Choose what happens to the product.")},
    )

    def __init__(self, *args: Any, lot_id: UUID, **kwargs: Any) -> None:
        super().__init__(*args, kind=Kind.DISPOSITION, **kwargs)
        self.initial.setdefault("lot", lot_id)
        self.order_fields(["step_id", "kind", "lot", "disposition", "text"])


class DecideForm(forms.Form):
    """One decision for all lots that are implicated for the same reason. What is sent back are the lots that were
    shown, so that one which came meanwhile is not decided unseen."""

    request_id = forms.UUIDField(widget=forms.HiddenInput)
    lots = forms.MultipleChoiceField(
        label=_("Which lots"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Choose at least one group of lots.")},
    )
    disposition = forms.ChoiceField(
        label=_("What happens to them"),
        choices=CorrectiveStep.Disposition.choices,
        widget=forms.RadioSelect,
        error_messages={"required": _("Choose what happens to the product.")},
    )
    text = forms.CharField(
        label=ASK[Kind.DISPOSITION].rstrip("."),
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": ASK[Kind.DISPOSITION]},
    )

    def __init__(self, *args: Any, groups: Sequence[tuple[str, Sequence[ImplicatedLot]]], **kwargs: Any) -> None:
        super().__init__(*args, **({"auto_id": "decide_%s"} | kwargs))
        field = self.fields["lots"]
        assert isinstance(field, forms.MultipleChoiceField)
        field.choices = [
            (" ".join(str(one.lot_id) for one in lots), f"{why}: {', '.join(one.lot.code for one in lots)}")
            for why, lots in groups
        ]
        self.groups = groups
        self.initial.setdefault("request_id", uuid4())

    @property
    def lot_ids(self) -> list[UUID]:
        return [UUID(one) for group in self.cleaned_data["lots"] for one in group.split()]


class CloseForm(forms.Form):
    """seen_sha256: of exactly what the page showed."""

    seen_sha256 = forms.CharField(widget=forms.HiddenInput)
    password = forms.CharField(
        label=_("Your password, as your signature"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": _("Type your password; it is your signature.")},
    )


class WidenForm(forms.Form):
    """Lots ticked in the list, and any others by their codes."""

    request_id = forms.UUIDField(widget=forms.HiddenInput)
    lots = forms.ModelMultipleChoiceField(queryset=Lot.objects.none(), required=False)
    codes = forms.CharField(
        label=_("Others, by their codes"),
        required=False,
        max_length=1000,
        help_text=_("Apart by blanks."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    reason = forms.CharField(
        label=_("Why may these be touched as well?"),
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": _("Say why these may be touched as well.")},
    )

    def __init__(self, *args: Any, premises: Premises, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        lots = self.fields["lots"]
        assert isinstance(lots, forms.ModelMultipleChoiceField)
        self.offered = lots.queryset = Lot.objects.for_premises(premises)
        self.initial.setdefault("request_id", uuid4())

    def clean_codes(self) -> list[Lot]:
        codes = self.cleaned_data["codes"].split()
        found = list(self.offered.filter(code__in=codes))
        unknown = set(codes) - {lot.code for lot in found}
        if unknown:
            raise forms.ValidationError(_("There is no lot %(codes)s here."), params={"codes": ", ".join(unknown)})
        return found

    @property
    def chosen(self) -> list[str]:
        return [str(one) for one in self["lots"].value() or []]


class TaskForm(forms.Form):
    request_id = forms.UUIDField(widget=forms.HiddenInput)
    title = forms.CharField(
        label=_("What is to be done"), max_length=200, error_messages={"required": _("Say what is to be done.")}
    )
    owner = forms.ModelChoiceField(
        label=_("Whose it is"),
        queryset=User.objects.none(),
        empty_label=_("choose"),
        error_messages={"required": _("Choose who does it.")},
    )
    due_on = forms.DateField(label=_("By when"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))

    def __init__(self, *args: Any, premises: Premises, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        owner = self.fields["owner"]
        assert isinstance(owner, forms.ModelChoiceField)
        owner.queryset = User.objects.filter(
            memberships__premises=premises, memberships__left_at__isnull=True
        ).order_by("name")
        self.initial.setdefault("request_id", uuid4())


class EvidenceForm(forms.Form):
    """file is read by the view: the upload handler refuses what is too large while it arrives."""

    request_id = forms.UUIDField(widget=forms.HiddenInput)
    file = forms.FileField(label=_("File"), required=False)
    note = forms.CharField(label=_("What it shows"), required=False, max_length=400)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("request_id", uuid4())

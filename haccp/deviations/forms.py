"""What a person types about a deviation: a report, each step, the closing signature."""

from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.deviations.actions.steps import ASK
from haccp.deviations.models import CorrectiveStep
from haccp.lots.models import Lot
from haccp.plan.models import ControlPoint, PlanRevision
from haccp.premises.local_time import LocalTimeField, keep_current

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
        self.initial.setdefault("occurred_at", timezone.now().replace(second=0, microsecond=0))
        if chosen is not None:
            self.initial.setdefault("lots", [chosen])
        keep_current(self, "occurred_at")


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


class CloseForm(forms.Form):
    """seen_sha256: of exactly what the page showed."""

    seen_sha256 = forms.CharField(widget=forms.HiddenInput)
    password = forms.CharField(
        label=_("Your password, as your signature"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": _("Type your password; it is your signature.")},
    )

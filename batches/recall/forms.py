"""A recall, as it is typed under pressure: few fields, and each made to be sent twice without harm."""

from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from batches.recall.models import Recall, RecallMark
from batches.stock.forms import DATE, OnceForm
from haccp.lots.models import Lot


class StartForm(OnceForm):
    kind = forms.ChoiceField(label=_("What is this?"), choices=Recall.Kind.choices, widget=forms.RadioSelect)
    reason = forms.CharField(
        label=_("Why, or what is being tried"),
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": _("Say why, or what is being tried.")},
    )
    repeat_after_days = forms.IntegerField(
        label=_("Try it again after how many days"), initial=365, help_text=_("0: never."), min_value=0
    )


class ChooseForm(OnceForm):
    lot = forms.ModelChoiceField(
        label=_("Lot"),
        queryset=Lot.objects.none(),
        widget=forms.RadioSelect,
        empty_label=None,
        error_messages={"required": _("Choose the lot."), "invalid_choice": _("Choose the lot from the list.")},
    )
    reach = forms.ChoiceField(
        label=_("How far"), choices=RecallMark.Reach.choices, widget=forms.RadioSelect, initial="forward"
    )

    def __init__(self, *args: Any, lots: QuerySet[Lot], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        lot = self.fields["lot"]
        assert isinstance(lot, forms.ModelChoiceField)
        lot.queryset = lots


class FinishForm(OnceForm):
    note = forms.CharField(
        label=_("What went well, and what is to be done better"),
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": _("Say what went well and what is to be done better.")},
    )


class PeriodForm(forms.Form):
    period_from = forms.DateField(label=_("From"), widget=DATE)
    period_to = forms.DateField(label=_("To"), widget=DATE)

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        first, last = typed.get("period_from"), typed.get("period_to")
        if first and last and first > last:
            self.add_error("period_to", _("The last day is before the first; exchange them."))
        return typed

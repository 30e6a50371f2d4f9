"""The weight of the cheese, as it is typed."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from haccp.premises.local_time import LocalTimeField, begins_now
from haccp.premises.scope import Scope

DECIMAL = {"inputmode": "decimal", "autocomplete": "off"}


def _percent(label: Any) -> forms.CharField:
    return forms.CharField(label=label, required=False, max_length=40, widget=forms.TextInput(attrs=DECIMAL))


class YieldForm(forms.Form):
    yield_id = forms.UUIDField(widget=forms.HiddenInput)
    cheese = forms.CharField(
        label=_("All the cheese of this make"),
        max_length=40,
        widget=forms.TextInput(attrs=DECIMAL),
        error_messages={"required": _("Type what all the cheese weighs.")},
    )
    cheese_unit = forms.ChoiceField(label=_("Unit"), choices=[(u, u) for u in ("kg", "g", "lb")])
    weighed_at = LocalTimeField(label=_("Weighed"), error_messages={"required": _("Give the time of the weighing.")})
    fat = _percent(_("Fat of the milk, %"))
    casein = _percent(_("Casein of the milk, %"))
    protein = _percent(_("Protein of the milk, %"))
    moisture = _percent(_("Moisture of the cheese, %"))
    note = forms.CharField(label=_("Note"), required=False)

    def __init__(self, *args: Any, scope: Scope, milk: dict[str, float], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("yield_id", uuid4())
        begins_now(self, "weighed_at")
        self.initial.setdefault("cheese_unit", scope.user.preferred_unit("mass"))
        for name, value in milk.items():
            self.initial.setdefault(name, f"{value:.2f}")

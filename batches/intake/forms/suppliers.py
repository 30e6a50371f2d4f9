"""A supplier, as it is typed."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.intake.models import Supplier


class SupplierForm(forms.Form):
    supplier_id = forms.UUIDField(widget=forms.HiddenInput)
    name = forms.CharField(label=_("Name"), max_length=120, error_messages={"required": _("Give the supplier's name.")})
    kind = forms.ChoiceField(label=_("What they supply"), choices=Supplier.Kind.choices)
    contact = forms.CharField(label=_("Address, telephone"), required=False, widget=forms.Textarea(attrs={"rows": 3}))
    approval = forms.CharField(
        label=_("Registration or certificate"),
        required=False,
        max_length=120,
        help_text=_("The number or document that shows that you may buy from them."),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("supplier_id", uuid4())

"""A laboratory's result of the periodic tests, as it is typed."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.intake.models import MilkCount, Supplier
from batches.intake.queries import suppliers_of
from haccp.plan.models import MilkSpecies
from haccp.premises.scope import Scope
from haccp.science.units import QUANTITIES

UNITS = [(unit, unit) for key in MilkCount.Quantity.values for unit in QUANTITIES[key].units if unit != "cfu/g"]


class CountForm(forms.Form):
    count_id = forms.UUIDField(widget=forms.HiddenInput)
    supplier = forms.ModelChoiceField(
        label=_("Whose milk"),
        queryset=Supplier.objects.none(),
        empty_label=_("choose"),
        error_messages={"required": _("Choose whose milk it was.")},
    )
    species = forms.ChoiceField(label=_("Milk of"), choices=MilkSpecies.choices)
    quantity = forms.ChoiceField(label=_("What was counted"), choices=MilkCount.Quantity.choices)
    sampled_on = forms.DateField(
        label=_("Day of the sample"),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"required": _("Give the day of the sample.")},
    )
    text = forms.CharField(
        label=_("Result"),
        max_length=80,
        help_text=_("As the laboratory writes it; “< 10” counts as 10."),
        widget=forms.TextInput(attrs={"inputmode": "text", "autocomplete": "off"}),
        error_messages={"required": _("Type the result.")},
    )
    unit = forms.ChoiceField(label=_("Unit"), choices=UNITS)
    laboratory = forms.CharField(label=_("Laboratory and report number"), required=False, max_length=120)
    note = forms.CharField(label=_("Note"), required=False)

    def __init__(self, *args: Any, scope: Scope, corrects: MilkCount | None = None, **kwargs: Any) -> None:
        """corrects: the result that was entered wrongly; the form then begins with what it says."""
        super().__init__(*args, **kwargs)
        supplier = self.fields["supplier"]
        assert isinstance(supplier, forms.ModelChoiceField)
        supplier.queryset = suppliers_of(scope.premises, of_milk=True)
        self.initial.setdefault("count_id", uuid4())
        if corrects is not None:
            supplier.queryset = supplier.queryset | Supplier.objects.filter(pk=corrects.supplier_id)
            names = ("supplier", "species", "quantity", "sampled_on", "laboratory")
            self.initial.update({name: getattr(corrects, name) for name in names})
            self.initial.update({"text": corrects.typed_text, "unit": corrects.typed_unit})
            self.fields["note"].label = _("What was wrong")
            self.fields["note"].required = True
            self.fields["note"].error_messages["required"] = _("Say what was wrong; both results stay on file.")

"""An ingredient that came in, and a count of its stock, as they are typed."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.intake.models import IngredientLot, Supplier
from batches.intake.queries import suppliers_of
from haccp.premises.local_time import LocalTimeField, begins_now
from haccp.premises.scope import Scope
from haccp.science.units import QUANTITIES

AMOUNT_UNITS = [(unit, unit) for key in IngredientLot.Quantity.values for unit in QUANTITIES[key].units if unit != "t"]
DECIMAL = {"inputmode": "decimal", "autocomplete": "off"}


class IngredientForm(forms.Form):
    lot_id = forms.UUIDField(widget=forms.HiddenInput)
    kind = forms.ChoiceField(label=_("What it is"), choices=IngredientLot.Kind.choices)
    name = forms.CharField(
        label=_("Name on the label"),
        max_length=120,
        error_messages={"required": _("Give its name as it stands on the label.")},
    )
    supplier = forms.ModelChoiceField(
        label=_("Supplier"), queryset=Supplier.objects.none(), required=False, empty_label=_("not said")
    )
    supplier_lot = forms.CharField(label=_("Lot number on the label"), max_length=80, required=False)
    amount = forms.CharField(
        label=_("How much"),
        max_length=40,
        widget=forms.TextInput(attrs=DECIMAL),
        error_messages={"required": _("Type how much came in.")},
    )
    amount_unit = forms.ChoiceField(label=_("Unit"), choices=AMOUNT_UNITS, initial="g")
    expires_on = forms.DateField(
        label=_("Last day (best before, use by)"),
        required=False,
        help_text=_("Leave it empty for what does not expire: salt, water."),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    strength = forms.CharField(
        label=_("Strength of rennet"), required=False, max_length=40, widget=forms.TextInput(attrs=DECIMAL)
    )
    strength_unit = forms.ChoiceField(
        label=_("Given in"), required=False, choices=[("", "–"), *IngredientLot.StrengthUnit.choices]
    )
    bulk_density = forms.CharField(
        label=_("Grams in 1 mL of powder"),
        required=False,
        max_length=40,
        help_text=_("For spoon measures: weigh a levelled 5 mL spoon and divide by 5."),
        widget=forms.TextInput(attrs=DECIMAL),
    )
    received_at = LocalTimeField(label=_("Came in"), error_messages={"required": _("Give the time it came in.")})
    note = forms.CharField(label=_("Note"), required=False)
    accept = forms.BooleanField(
        label=_("Accept it now: the packaging is whole and the date is good"), required=False, initial=True
    )

    def __init__(self, *args: Any, scope: Scope, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        supplier = self.fields["supplier"]
        assert isinstance(supplier, forms.ModelChoiceField)
        supplier.queryset = suppliers_of(scope.premises).exclude(kind=Supplier.Kind.MILK)
        self.initial.setdefault("lot_id", uuid4())
        begins_now(self, "received_at")


class StockForm(forms.Form):
    change_id = forms.UUIDField(widget=forms.HiddenInput)
    left = forms.CharField(
        label=_("How much is there now"),
        max_length=40,
        widget=forms.TextInput(attrs=DECIMAL),
        error_messages={"required": _("Type how much is there now; 0 for nothing.")},
    )
    left_unit = forms.ChoiceField(label=_("Unit"))
    reason = forms.CharField(
        label=_("Why it differs"),
        help_text=_("Counted, spilled, thrown away …"),
        error_messages={"required": _("Say why the stock differs.")},
    )

    def __init__(self, *args: Any, row: IngredientLot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        unit = self.fields["left_unit"]
        assert isinstance(unit, forms.ChoiceField)
        unit.choices = [(one, one) for one in QUANTITIES[row.quantity].units]
        self.initial.setdefault("change_id", uuid4())
        self.initial.setdefault("left_unit", row.typed_unit)

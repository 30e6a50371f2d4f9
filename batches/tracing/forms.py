"""What people type about where lots came from and went to."""

from typing import Any
from uuid import UUID

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.intake.models import MilkLot
from batches.intake.queries import milk_of
from batches.stock.forms import DECIMAL, OnceForm
from batches.stock.models import Item
from batches.tracing.actions import QUANTITY_OF
from batches.tracing.models import ByProduct
from haccp.lots.models import Lot
from haccp.premises.errors import ActionError
from haccp.premises.local_time import LocalTimeField
from haccp.premises.models import Premises
from haccp.science.errors import InputError
from haccp.science.units import read_typed

UNITS = [(unit, unit) for unit in QUANTITY_OF]
LATEST_LOTS = 200


class ByProductForm(OnceForm):
    kind = forms.ChoiceField(label=_("What came off"), choices=ByProduct.Kind.choices)
    amount = forms.CharField(
        label=_("How much"), max_length=40, widget=DECIMAL, error_messages={"required": _("Enter how much it was.")}
    )
    unit = forms.ChoiceField(label=_("Unit"), choices=UNITS)
    drawn_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time.")})
    moments = ("drawn_at",)


class UseForm(forms.Form):
    """Some of a lot went into another; the pair itself names the entry, so that a double tap is one."""

    child = forms.ModelChoiceField(
        label=_("It went into"),
        queryset=Lot.objects.none(),
        empty_label=_("choose"),
        error_messages={"required": _("Choose the lot that it went into.")},
    )
    amount = forms.CharField(
        label=_("How much"), max_length=40, widget=DECIMAL, error_messages={"required": _("Enter how much it was.")}
    )
    unit = forms.ChoiceField(label=_("Unit"), choices=UNITS)

    def __init__(self, *args: Any, premises: Premises, parent: Lot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        child = self.fields["child"]
        assert isinstance(child, forms.ModelChoiceField)
        offered = Lot.objects.for_premises(premises).exclude(pk=parent.pk).exclude(kind=Lot.Kind.INGREDIENT)
        latest = offered.filter(begun_at__gte=parent.begun_at).values("pk")[:LATEST_LOTS]
        child.queryset = offered.filter(pk__in=list(latest.values_list("pk", flat=True)))


class ReworkForm(OnceForm):
    items = forms.ModelMultipleChoiceField(
        queryset=Item.objects.none(),
        error_messages={"required": _("Choose at least one piece."), "invalid_choice": _("It is not known here.")},
    )
    worked_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time.")})
    moments = ("worked_at",)

    def __init__(self, *args: Any, premises: Premises, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        items = self.fields["items"]
        assert isinstance(items, forms.ModelMultipleChoiceField)
        items.queryset = Item.objects.for_premises(premises)

    @property
    def chosen(self) -> list[str]:
        return [str(one) for one in self["items"].value() or []]


class BlendForm(OnceForm):
    """One field for each milk lot that there is some of: milk-<id>, in litres."""

    blended_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time.")})
    moments = ("blended_at",)

    def __init__(self, *args: Any, premises: Premises, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.milk: list[MilkLot] = list(milk_of(premises, only_left=True))
        for one in self.milk:
            self.fields[f"milk-{one.pk}"] = forms.CharField(
                label=f"{one.lot.code} {one.source}", max_length=40, required=False, widget=DECIMAL
            )

    def litres(self) -> dict[UUID, float]:
        """Raises ActionError with a sentence beside each field that is no volume."""
        found: dict[UUID, float] = {}
        wrong: dict[str, str] = {}
        for one in self.milk:
            typed = self.cleaned_data.get(f"milk-{one.pk}", "").strip()
            if not typed:
                continue
            try:
                found[one.pk] = read_typed("volume", typed, "L").value_si
            except InputError as error:
                wrong[f"milk-{one.pk}"] = str(error)
        if wrong:
            raise ActionError(next(iter(wrong.values())), fields=wrong)
        return found

"""A new make, and what happens in it, as they are typed."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.intake.models import MilkLot
from batches.making.course import USUAL_ORDER
from batches.making.whey import Whey
from haccp.plan.models import Product
from haccp.premises.local_time import LocalTimeField, begins_now
from haccp.premises.models import Place
from haccp.premises.queries import places_of
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.units import read_typed

VOLUME_UNITS = (("L", _("litres")), ("gal (US)", _("US gallons")))
MILK_PREFIX = "milk-"


class MakeForm(forms.Form):
    """A field per lot of milk or whey of which there is some left ("milk-<lot id>"), in volume_unit."""

    lot_id = forms.UUIDField(widget=forms.HiddenInput)
    product = forms.ModelChoiceField(
        label=_("Cheese"),
        queryset=Product.objects.none(),
        empty_label=_("choose"),
        error_messages={"required": _("Choose the cheese."), "invalid_choice": _("Choose the cheese from the list.")},
    )
    vat = forms.ModelChoiceField(
        label=_("Vat"),
        queryset=Place.objects.none(),
        empty_label=_("choose"),
        error_messages={"required": _("Choose the vat."), "invalid_choice": _("Choose the vat from the list.")},
    )
    started_at = LocalTimeField(label=_("Started"), error_messages={"required": _("Give the time of the start.")})
    volume_unit = forms.ChoiceField(label=_("Unit"), choices=VOLUME_UNITS)
    note = forms.CharField(label=_("Note"), required=False, widget=forms.Textarea(attrs={"rows": 2}))
    in_spite_of = forms.CharField(
        label=_("If the vat is not clean: why it is used all the same"),
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("This opens a deviation. Leave it empty when the vat is clean."),
    )
    exception = forms.CharField(
        label=_("Why this milk is used all the same"),
        required=False,
        help_text=_("It opens a deviation that holds what you write here; leave it empty to take other milk."),
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: Any, scope: Scope, milk: Sequence[MilkLot | Whey], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.milk = tuple(milk)
        products = Product.objects.filter(premises=scope.premises, retired_at__isnull=True)
        vats = places_of(scope.premises).filter(kind=Place.Kind.VAT)
        self._offer("product", products)
        self._offer("vat", vats)
        for one in self.milk:
            self.fields[milk_field(one)] = forms.CharField(
                label=one.lot.code,
                required=False,
                max_length=40,
                widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
            )
        self.initial.setdefault("lot_id", uuid4())
        begins_now(self, "started_at")
        self.initial.setdefault("volume_unit", scope.user.preferred_unit("volume"))

    def _offer(self, name: str, rows: Any) -> None:
        """The rows to choose from; one that is alone is chosen already."""
        field = self.fields[name]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = rows
        first_two = list(rows[:2])
        if len(first_two) == 1:
            self.initial.setdefault(name, first_two[0].pk)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        unit = cleaned.get("volume_unit", "L")
        litres: dict[UUID, float] = {}
        for one in self.milk:
            typed = cleaned.get(milk_field(one), "")
            if not typed:
                continue
            try:
                litres[one.lot_id] = read_typed("volume", typed, unit).value_si
            except InputError as error:
                self.add_error(milk_field(one), str(error))
        cleaned["milk_l"] = litres
        return cleaned


def milk_field(milk: MilkLot | Whey) -> str:
    return f"{MILK_PREFIX}{milk.lot_id}"


class EventForm(forms.Form):
    """event_id is made with the form, so that a double tap is one event."""

    event_id = forms.UUIDField(widget=forms.HiddenInput)
    occurred_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time when it happened.")})
    note = forms.CharField(label=_("Note"), required=False)
    kind = forms.ChoiceField(
        label=_("What happened"),
        choices=[(kind.value, kind.label) for kind in USUAL_ORDER],
        error_messages={
            "required": _("Choose what happened."),
            "invalid_choice": _("Choose what happened from the list."),
        },
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("event_id", uuid4())
        begins_now(self, "occurred_at")


class EventCorrectForm(forms.Form):
    """event_id: of the event that takes the wrong one's place."""

    event_id = forms.UUIDField(widget=forms.HiddenInput)
    occurred_at = LocalTimeField(label=_("When it was"), error_messages={"required": _("Give the right time.")})
    reason = forms.CharField(
        label=_("Why it is corrected"),
        max_length=1000,
        error_messages={"required": _("Say why the time is corrected; both stay on file.")},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("event_id", uuid4())

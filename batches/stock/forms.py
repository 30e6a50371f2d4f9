"""What people type about stock. Each form makes its ids, so that a double tap is one entry."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from batches.stock.models import Customer, Dispatch, Item, ItemEvent
from batches.stock.queries import customers_of
from haccp.lots.models import Lot
from haccp.plan.models import Product
from haccp.premises.local_time import LocalTimeField, begins_now
from haccp.premises.models import Place, Premises
from haccp.premises.queries import own_premises_of, places_of
from haccp.premises.scope import Scope
from haccp.science.units import QUANTITIES

MASS_UNITS = [(unit, unit) for unit in QUANTITIES["mass"].units if unit in ("kg", "g", "lb")]
DECIMAL = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
DATE = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class OnceForm(forms.Form):
    """request_id names the entry; moments: fields of a time that stand at now until the person changes them."""

    request_id = forms.UUIDField(widget=forms.HiddenInput)
    moments: tuple[str, ...] = ()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("request_id", uuid4())
        for name in self.moments:
            begins_now(self, name)


def _pieces() -> "forms.ModelMultipleChoiceField[Item]":
    """Pieces of this dairy; the form that holds the field says which those are."""
    return forms.ModelMultipleChoiceField(
        queryset=Item.objects.none(),
        error_messages={
            "required": _("Choose at least one piece."),
            "invalid_choice": _("One of these pieces is not known at this dairy."),
            "invalid_pk_value": _("One of these pieces is not known at this dairy."),
        },
    )


def _preferred(form: forms.Form, scope: Scope) -> None:
    form.initial.setdefault("unit", scope.user.preferred_unit("mass"))


def _offer_places(form: forms.Form, premises: Premises) -> None:
    place = form.fields["place"]
    assert isinstance(place, forms.ModelChoiceField)
    place.queryset = places_of(premises)


class ItemsForm(OnceForm):
    kind = forms.ChoiceField(label=_("What"), choices=Item.Kind.choices)
    weights = forms.CharField(
        label=_("What each weighs"),
        help_text=_("One weight to a line, or “12 × 3.2” for twelve of 3.2."),
        widget=forms.Textarea(attrs={"rows": 3, "autocomplete": "off"}),
        error_messages={"required": _("Enter what each weighs.")},
    )
    unit = forms.ChoiceField(label=_("Unit"), choices=MASS_UNITS)
    place = forms.ModelChoiceField(
        label=_("Where they lie"), queryset=Place.objects.none(), required=False, empty_label=_("not said")
    )
    best_before = forms.DateField(label=_("Best before"), required=False, widget=DATE)
    entered_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time.")})
    moments = ("entered_at",)

    def __init__(self, *args: Any, scope: Scope, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _preferred(self, scope)
        _offer_places(self, scope.premises)


class CutForm(OnceForm):
    kind = forms.ChoiceField(label=_("Into"), choices=[one for one in Item.Kind.choices if one[0] != "wheel"])
    weights = forms.CharField(
        label=_("What each part weighs"),
        help_text=_("One weight to a line, or “8 × 0.25”. What they weigh less together is trim."),
        widget=forms.Textarea(attrs={"rows": 3, "autocomplete": "off"}),
        error_messages={"required": _("Enter what each part weighs.")},
    )
    unit = forms.ChoiceField(label=_("Unit"), choices=MASS_UNITS)
    best_before = forms.DateField(
        label=_("Best before"), required=False, widget=DATE, help_text=_("Empty: as of the whole.")
    )
    cut_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time.")})
    moments = ("cut_at",)

    def __init__(self, *args: Any, scope: Scope, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _preferred(self, scope)


class ItemEventForm(OnceForm):
    kind = forms.ChoiceField(
        label=_("What happened"),
        choices=[one for one in ItemEvent.Kind.choices if one[0] in ("weighed", "sample", "loss")],
    )
    whole = forms.BooleanField(label=_("All of it is gone"), required=False)
    weight = forms.CharField(
        label=_("Weight"),
        required=False,
        max_length=40,
        widget=DECIMAL,
        help_text=_("Weighed again: what it weighs now. Sample or loss: what was taken."),
    )
    unit = forms.ChoiceField(label=_("Unit"), choices=MASS_UNITS)
    note = forms.CharField(label=_("Why, and how"), required=False, widget=forms.Textarea(attrs={"rows": 2}))
    occurred_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time.")})
    moments = ("occurred_at",)

    def __init__(self, *args: Any, scope: Scope, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _preferred(self, scope)


class PickForm(OnceForm):
    """Some pieces of a batch, and what becomes of them."""

    items = _pieces()
    what = forms.ChoiceField(
        label=_("What becomes of them"),
        choices=[("move", _("moved to another room")), ("counter", _("opened at the counter"))],
        widget=forms.RadioSelect,
    )
    place = forms.ModelChoiceField(
        label=_("Room"), queryset=Place.objects.none(), required=False, empty_label=_("choose")
    )
    at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time.")})
    moments = ("at",)

    def __init__(self, *args: Any, premises: Premises, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _offer_places(self, premises)
        items = self.fields["items"]
        assert isinstance(items, forms.ModelMultipleChoiceField)
        items.queryset = Item.objects.for_premises(premises)

    @property
    def chosen(self) -> list[str]:
        return [str(one) for one in self["items"].value() or []]


class ReturnForm(OnceForm):
    """Pieces of one dispatch that come back."""

    items = _pieces()
    returned_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time.")})
    place = forms.ModelChoiceField(
        label=_("Where it lies now"), queryset=Place.objects.none(), required=False, empty_label=_("not said")
    )
    note = forms.CharField(
        label=_("Why it came back"),
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": _("Say why it came back.")},
    )
    moments = ("returned_at",)

    def __init__(self, *args: Any, dispatch: Dispatch, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        items = self.fields["items"]
        assert isinstance(items, forms.ModelMultipleChoiceField)
        items.queryset = Item.objects.filter(events__dispatch=dispatch)
        _offer_places(self, dispatch.premises)

    @property
    def chosen(self) -> list[str]:
        return [str(one) for one in self["items"].value() or []]


class DispatchForm(OnceForm):
    items = _pieces()
    customer = forms.ModelChoiceField(
        label=_("Customer"),
        queryset=Customer.objects.none(),
        required=False,
        empty_label=_("choose"),
        error_messages={"required": _("Choose the customer from the list.")},
    )
    own_premises = forms.ModelChoiceField(
        label=_("Or another premises of ours"),
        queryset=Premises.objects.none(),
        required=False,
        empty_label=_("choose"),
        help_text=_("It arrives there as stock once somebody there accepts it."),
    )
    document_type = forms.CharField(label=_("Paper that goes along"), max_length=40, initial=_("delivery note"))
    document_number = forms.CharField(
        label=_("Its number"),
        max_length=60,
        error_messages={"required": _("Give the number of the delivery note or invoice that goes along.")},
    )
    dispatched_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time.")})
    note = forms.CharField(label=_("Note"), required=False, widget=forms.Textarea(attrs={"rows": 2}))
    moments = ("dispatched_at",)

    def __init__(self, *args: Any, premises: Premises, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        items, customer = self.fields["items"], self.fields["customer"]
        assert isinstance(items, forms.ModelMultipleChoiceField)
        assert isinstance(customer, forms.ModelChoiceField)
        items.queryset = Item.objects.for_premises(premises)
        # One that stands for a premises of ours is chosen as that.
        customer.queryset = customers_of(premises).filter(retired_at__isnull=True, own_premises__isnull=True)
        own = self.fields["own_premises"]
        assert isinstance(own, forms.ModelChoiceField)
        own.queryset = own_premises_of(premises)
        self.has_own_premises = own.queryset.exists()
        # Where there is no other premises, the customer is what must be chosen, and the field says so.
        customer.required = not self.has_own_premises

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        if "customer" in typed and "own_premises" in typed:
            chosen = [one for one in (typed["customer"], typed["own_premises"]) if one]
            if len(chosen) > 1:
                self.add_error("own_premises", _("Choose the customer or the premises, not both."))
            elif not chosen:
                self.add_error("customer", _("Choose the customer from the list."))
        return typed

    @property
    def chosen(self) -> list[str]:
        return [str(one) for one in self["items"].value() or []]


class ArrivalForm(OnceForm):
    """What of a dispatch arrived; every piece is ticked until the person finds it missing."""

    items = _pieces()
    place = forms.ModelChoiceField(
        label=_("Where they lie"), queryset=Place.objects.none(), required=False, empty_label=_("not said")
    )
    arrived_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time.")})
    note = forms.CharField(
        label=_("Note"),
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("What is missing, and what the driver says of it."),
    )
    moments = ("arrived_at",)

    def __init__(self, *args: Any, premises: Premises, dispatch: Dispatch, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _offer_places(self, premises)
        items = self.fields["items"]
        assert isinstance(items, forms.ModelMultipleChoiceField)
        items.queryset = Item.objects.filter(events__dispatch=dispatch)
        items.required = False  # nothing of it may have come
        self.initial.setdefault("items", list(items.queryset))

    @property
    def chosen(self) -> list[str]:
        return [str(getattr(one, "pk", one)) for one in self["items"].value() or []]


class CustomerForm(OnceForm):
    name = forms.CharField(label=_("Name"), max_length=160, error_messages={"required": _("Give the customer's name.")})
    contact = forms.CharField(label=_("Whom to ask for"), max_length=120, required=False)
    phone = forms.CharField(
        label=_("Telephone"), max_length=40, required=False, widget=forms.TextInput(attrs={"type": "tel"})
    )
    email = forms.EmailField(label=_("E-mail"), required=False)
    address = forms.CharField(label=_("Address"), required=False, widget=forms.Textarea(attrs={"rows": 3}))
    gln = forms.CharField(label=_("GLN"), max_length=20, required=False, widget=DECIMAL)
    is_ours = forms.BooleanField(label=_("This is another premises of ours"), required=False)


class CounterTotalForm(OnceForm):
    lot = forms.ModelChoiceField(
        label=_("Batch"),
        queryset=Lot.objects.none(),
        empty_label=_("choose"),
        error_messages={"required": _("Choose the batch.")},
    )
    day = forms.DateField(label=_("Day"), widget=DATE)
    weight = forms.CharField(
        label=_("Sold that day"),
        max_length=40,
        widget=DECIMAL,
        error_messages={"required": _("Enter how much was sold.")},
    )
    unit = forms.ChoiceField(label=_("Unit"), choices=MASS_UNITS)

    def __init__(self, *args: Any, scope: Scope, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _preferred(self, scope)
        lot = self.fields["lot"]
        assert isinstance(lot, forms.ModelChoiceField)
        lot.queryset = (
            Lot.objects.for_premises(scope.premises)
            .cheese()
            .filter(items__events__kind=ItemEvent.Kind.TO_COUNTER)
            .distinct()
        )
        self.initial.setdefault("day", scope.premises.local_date(timezone.now()))


class TradeNumberForm(forms.Form):
    product = forms.ModelChoiceField(label=_("Cheese"), queryset=Product.objects.none(), empty_label=_("choose"))
    gtin = forms.CharField(label=_("GTIN"), max_length=20, required=False, widget=DECIMAL)

    def __init__(self, *args: Any, premises: Premises, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        product = self.fields["product"]
        assert isinstance(product, forms.ModelChoiceField)
        product.queryset = Product.objects.filter(premises=premises)


class PartyNumberForm(forms.Form):
    gln = forms.CharField(label=_("GLN of these premises"), max_length=20, widget=DECIMAL)
    company_prefix = forms.CharField(label=_("GS1 company prefix"), max_length=12, widget=DECIMAL)

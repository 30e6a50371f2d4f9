"""The arrival of milk, as it is typed."""

from collections.abc import Collection
from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.intake.forms.findings import FindingsFields
from batches.intake.models import MilkFinding
from haccp.plan.models import MilkSpecies
from haccp.premises.local_time import LocalTimeField, begins_now
from haccp.premises.models import Place
from haccp.premises.queries import places_of
from haccp.premises.scope import Scope
from haccp.science.units import QUANTITIES

VOLUME_UNITS = [(unit, unit) for unit in QUANTITIES["volume"].units if unit in ("L", "gal (US)")]


ON_ARRIVAL = (
    MilkFinding.Kind.TEMPERATURE,
    MilkFinding.Kind.PH,
    MilkFinding.Kind.ACIDITY,
    MilkFinding.Kind.SENSES,
    MilkFinding.Kind.RESIDUES,
)


class MilkForm(FindingsFields):
    """lot_id is made with the form, so that a double tap is one milk lot. asked: kinds of finding that the plan's own
    checks ask for next, so that nobody types them twice."""

    lot_id = forms.UUIDField(widget=forms.HiddenInput)
    species = forms.ChoiceField(label=_("Milk of"), choices=MilkSpecies.choices)
    source = forms.CharField(
        label=_("Whose milk"),
        max_length=120,
        help_text=_("Your own herd, or the supplier."),
        widget=forms.TextInput(attrs={"list": "earlier-sources", "autocomplete": "off"}),
        error_messages={"required": _("Say whose milk it is: your own herd, or the supplier.")},
    )
    volume = forms.CharField(
        label=_("How much"),
        max_length=40,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        error_messages={"required": _("Enter how much milk there was.")},
    )
    volume_unit = forms.ChoiceField(label=_("Unit"), choices=VOLUME_UNITS)
    received_at = LocalTimeField(
        label=_("Received"), error_messages={"required": _("Give the time when the milk came in.")}
    )
    milked_from = LocalTimeField(label=_("First milking began"), required=False)
    milked_until = LocalTimeField(label=_("Last milking ended"), required=False)
    place = forms.ModelChoiceField(
        label=_("Milk store"), queryset=Place.objects.none(), required=False, empty_label=_("not said")
    )

    error_fields = {"place_id": "place"}

    def __init__(
        self, *args: Any, scope: Scope, last_species: str = "", asked: Collection[str] = (), **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.add_kinds((kind for kind in ON_ARRIVAL if kind not in asked), scope)
        stores = places_of(scope.premises).filter(kind__in=(Place.Kind.MILK_STORE, Place.Kind.VAT))
        place = self.fields["place"]
        assert isinstance(place, forms.ModelChoiceField)
        place.queryset = stores
        self.initial.setdefault("lot_id", uuid4())
        begins_now(self, "received_at")
        self.initial.setdefault("volume_unit", scope.user.preferred_unit("volume"))
        if last_species:
            self.initial.setdefault("species", last_species)
        first = stores.filter(kind=Place.Kind.MILK_STORE).first()
        if first is not None:
            self.initial.setdefault("place", first.pk)

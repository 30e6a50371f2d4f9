"""What people type about a brine. Each form makes its id, so that a double tap is one entry."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.making.brines import may_be_laid_in, salt_of, tanks_of
from batches.making.models import Brine
from haccp.premises.local_time import LocalTimeField, begins_now
from haccp.premises.scope import Scope

DECIMAL = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
VOLUMES = [(unit, unit) for unit in ("L", "gal (US)")]
MASSES = [(unit, unit) for unit in ("kg", "g", "lb")]


class _OnceForm(forms.Form):
    request_id = forms.UUIDField(widget=forms.HiddenInput)
    at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time.")})

    def __init__(self, *args: Any, scope: Scope, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("request_id", uuid4())
        begins_now(self, "at")
        self.scope = scope
        for name, quantity in (("volume_unit", "volume"), ("salt_unit", "mass")):
            if name in self.fields:
                self.initial.setdefault(name, scope.user.preferred_unit(quantity))
        if "salt_lot" in self.fields:
            self._offer("salt_lot", [(row.pk, f"{row.name} · {row.lot.code}") for row in salt_of(scope.premises)])

    def _offer(self, name: str, choices: list[tuple[Any, str]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", _("choose")), *((str(key), label) for key, label in choices)]


class _PutInForm(_OnceForm):
    volume = forms.CharField(label=_("Water"), max_length=40, widget=DECIMAL, required=False)
    volume_unit = forms.ChoiceField(label=_("Unit"), choices=VOLUMES, required=False)
    salt_lot = forms.ChoiceField(label=_("Salt lot"), required=False)
    salt = forms.CharField(label=_("Salt"), max_length=40, widget=DECIMAL, required=False)
    salt_unit = forms.ChoiceField(label=_("Unit"), choices=MASSES, required=False)
    note = forms.CharField(label=_("Note"), required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def put_in(self) -> dict[str, Any]:
        """As the actions take it."""
        data = self.cleaned_data
        return {
            "volume": data["volume"],
            "volume_unit": data["volume_unit"] or "L",
            "salt_id": data["salt_lot"] or None,
            "salt": data["salt"],
            "salt_unit": data["salt_unit"] or "kg",
            "note": data["note"],
        }


ASKED = {
    "volume": _("Type how much water went in."),
    "salt": _("Type how much salt went in."),
    "salt_lot": _("Choose the salt lot; record it among the ingredients first if it is not there."),
}


class BrineForm(_PutInForm):
    tank = forms.ChoiceField(label=_("Tank"), error_messages={"required": _("Choose the tank.")})
    water = forms.CharField(
        label=_("Where the water came from"),
        max_length=120,
        error_messages={"required": _("Say where the water came from.")},
    )
    field_order = ("tank", "water", "volume", "volume_unit", "salt_lot", "salt", "salt_unit", "at", "note")

    def __init__(self, *args: Any, scope: Scope, **kwargs: Any) -> None:
        super().__init__(*args, scope=scope, **kwargs)
        for name, sentence in ASKED.items():
            self.fields[name].required = True
            self.fields[name].error_messages["required"] = sentence
        self._offer("tank", [(place.pk, place.name) for place in tanks_of(scope.premises)])


class RefreshForm(_PutInForm):
    """Of what is added everything may be left empty."""


class DiscardForm(_OnceForm):
    reason = forms.CharField(
        label=_("Why, and where to"),
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": _("Say why it is discarded, and where to.")},
    )


class LayInForm(_OnceForm):
    make = forms.ChoiceField(label=_("Batch"), error_messages={"required": _("Choose the batch.")})

    def __init__(self, *args: Any, scope: Scope, brine: Brine, **kwargs: Any) -> None:
        super().__init__(*args, scope=scope, **kwargs)
        self._offer("make", [(make.pk, f"{make.lot.code} {make.lot.product}") for make in may_be_laid_in(brine)])

"""Moves, care, weights and the air of a room, as they are typed."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.ripening.models import CareKind, RoomLog
from batches.ripening.queries import rooms_of, usual_scale
from haccp.lots.models import Lot
from haccp.plan.models import Product
from haccp.premises.form_fields import typed_number
from haccp.premises.local_time import LocalTimeField, begins_now
from haccp.premises.models import Instrument, Place, Premises
from haccp.premises.scope import Scope
from haccp.science.units import QUANTITIES


class PlaceForm(forms.Form):
    """event_id is made with the form, so that a double tap is one move."""

    event_id = forms.UUIDField(widget=forms.HiddenInput)
    room = forms.ModelChoiceField(
        label=_("Room"),
        queryset=Place.objects.none(),
        widget=forms.RadioSelect,
        empty_label=None,
        error_messages={"required": _("Choose the room."), "invalid_choice": _("Choose the room from the list.")},
    )
    occurred_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time of the move.")})

    def __init__(self, *args: Any, premises: Premises, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        room = self.fields["room"]
        assert isinstance(room, forms.ModelChoiceField)
        room.queryset = rooms_of(premises)
        self.initial.setdefault("event_id", uuid4())
        begins_now(self, "occurred_at")


class CareForm(forms.Form):
    """care_id is made with the form; each kind is a button of its own."""

    care_id = forms.UUIDField(widget=forms.HiddenInput)
    kind = forms.ChoiceField(label=_("What was done"), choices=CareKind.choices)
    done_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time when it was done.")})
    note = forms.CharField(label=_("Note"), max_length=2000, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("care_id", uuid4())
        begins_now(self, "done_at")

    @property
    def kinds(self) -> list[tuple[str, str]]:
        return [(kind.value, str(kind.label)) for kind in CareKind]


class WeighForm(forms.Form):
    weighing_id = forms.UUIDField(widget=forms.HiddenInput)
    pieces = forms.IntegerField(
        label=_("Wheels on the scale"), min_value=1,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )  # fmt: skip
    mass = typed_number(_("They weigh"), required=True)
    unit = forms.ChoiceField(label=_("Unit"), choices=[(one, one) for one in QUANTITIES["mass"].units if one != "t"])
    weighed_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time of the weighing.")})

    def __init__(self, *args: Any, scope: Scope, lot: Lot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        last = lot.weighings.order_by("-weighed_at").first()
        self.initial.setdefault("pieces", last.pieces if last else 1)
        self.fields["instrument"] = _instruments(scope.premises, Instrument.Kind.SCALE)
        self.fields["instrument"].label = _("Scale")
        self.initial.setdefault("instrument", usual_scale(scope.premises))
        self.initial.setdefault("weighing_id", uuid4())
        self.initial.setdefault("unit", scope.user.preferred_unit("mass"))
        begins_now(self, "weighed_at")


def _instruments(premises: Premises, *kinds: str) -> "forms.ModelChoiceField[Any]":
    found = Instrument.objects.filter(premises=premises, retired_at__isnull=True, kind__in=kinds)
    return forms.ModelChoiceField(label=_("Instrument"), queryset=found, required=False, empty_label=_("not said"))


class ReadForm(forms.Form):
    """The air of a room: dry and wet bulb, or temperature and humidity."""

    reading_id = forms.UUIDField(widget=forms.HiddenInput)
    temperature = typed_number(_("Temperature (dry bulb)"))
    temperature_unit = forms.ChoiceField(label=_("Unit"), choices=[("°C", "°C"), ("°F", "°F")])
    humidity = typed_number(_("Relative humidity, %"))
    wet_bulb = typed_number(_("Or the wet bulb"), help_text=_("The humidity is then computed."))
    psychrometer = forms.ChoiceField(
        label=_("Air over the bulbs"),
        choices=[
            ("ASPIRATED", _("drawn by a fan, or swung")),
            ("NATURAL", _("moving by itself")),
            ("STILL", _("still")),
        ],
    )
    pressure = typed_number(_("Air pressure, hPa"), help_text=_("As measured there; 1013 where left empty."))
    read_at = LocalTimeField(label=_("When"), error_messages={"required": _("Give the time of the reading.")})
    note = forms.CharField(label=_("Note"), max_length=2000, required=False)

    def __init__(self, *args: Any, scope: Scope, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["instrument"] = _instruments(scope.premises, "thermometer", "hygrometer", "recorder")
        self.initial.setdefault("reading_id", uuid4())
        self.initial.setdefault("temperature_unit", scope.user.temperature_unit)
        self.initial.setdefault("psychrometer", "ASPIRATED")
        begins_now(self, "read_at")


class LoggerForm(forms.Form):
    trace_id = forms.UUIDField(widget=forms.HiddenInput)
    file = forms.FileField(
        label=_("The logger's file"), error_messages={"required": _("Choose the file that the logger wrote.")}
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("trace_id", uuid4())


class ChannelsForm(forms.Form):
    """What each channel of a file measures; "" leaves it out."""

    def __init__(self, *args: Any, scope: Scope, channels: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.channels = [name for name, _guess in channels]
        for i, (name, guess) in enumerate(channels):
            self.fields[f"quantity-{i}"] = forms.ChoiceField(
                label=_("“%(name)s” measures") % {"name": name},
                choices=[*RoomLog.Quantity.choices, ("", _("something else: leave it out"))],
                required=False,
                initial=guess,
            )
            self.fields[f"label-{i}"] = forms.CharField(
                label=_("Called"), max_length=80, required=False, initial=name[:80]
            )
        self.fields["instrument"] = _instruments(scope.premises, "recorder", "thermometer", "hygrometer")

    def channel_fields(self) -> list[list[Any]]:
        return [[self[f"quantity-{i}"], self[f"label-{i}"]] for i in range(len(self.channels))]

    def said(self) -> list[tuple[str, str, str]]:
        """(channel, quantity, label) of those that are kept."""
        typed = self.cleaned_data
        return [
            (name, typed[f"quantity-{i}"], typed[f"label-{i}"] or name[:80])
            for i, name in enumerate(self.channels)
            if typed.get(f"quantity-{i}")
        ]


class RhythmForm(forms.Form):
    product = forms.ModelChoiceField(label=_("Cheese"), queryset=Product.objects.none(), empty_label=None)
    kind = forms.ChoiceField(label=_("Care"), choices=CareKind.choices)
    every_days = forms.IntegerField(
        label=_("Every … days"), required=False, min_value=1, max_value=365,
        help_text=_("Left empty, this care is not asked for."),
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )  # fmt: skip

    def __init__(self, *args: Any, premises: Premises, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        product = self.fields["product"]
        assert isinstance(product, forms.ModelChoiceField)
        product.queryset = Product.objects.filter(premises=premises, retired_at__isnull=True)

"""A batch moves to a room, as it is typed."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from batches.ripening.queries import rooms_of
from haccp.premises.local_time import LocalTimeField, keep_current
from haccp.premises.models import Place, Premises


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
        self.initial.setdefault("occurred_at", timezone.now().replace(second=0, microsecond=0))
        keep_current(self, "occurred_at")

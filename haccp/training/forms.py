"""A training, as it is typed."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.premises.models import User
from haccp.premises.queries import people_of
from haccp.premises.scope import Scope

DAY = {"type": "date"}


class TrainingForm(forms.Form):
    training_id = forms.UUIDField(widget=forms.HiddenInput)
    person = forms.ModelChoiceField(
        label=_("Who"),
        queryset=User.objects.none(),
        empty_label=_("choose"),
        error_messages={"required": _("Say who was trained.")},
    )
    subject = forms.CharField(
        label=_("In what"),
        max_length=120,
        widget=forms.TextInput(attrs={"list": "subjects", "autocomplete": "off"}),
        error_messages={"required": _("Say what it was about: “Food hygiene”, “The pasteuriser”.")},
    )
    given_by = forms.CharField(
        label=_("By whom"),
        max_length=120,
        help_text=_("Who taught it, or who gave the certificate."),
        error_messages={"required": _("Say who taught it, or who gave the certificate.")},
    )
    given_on = forms.DateField(
        label=_("On"),
        widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d"),
        error_messages={"required": _("Give the day on which it was given.")},
    )
    valid_until = forms.DateField(
        label=_("Counts until"),
        required=False,
        widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d"),
        help_text=_("The last day; left empty, it does not run out."),
    )
    note = forms.CharField(label=_("Note"), max_length=2000, required=False)

    def __init__(self, *args: Any, scope: Scope, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        person = self.fields["person"]
        assert isinstance(person, forms.ModelChoiceField)
        person.queryset = people_of(scope.premises)
        self.initial.setdefault("training_id", uuid4())
        self.initial.setdefault("given_on", scope.premises.local_date(timezone.now()))

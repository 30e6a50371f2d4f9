"""Accepted or refused."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.intake.models import Acceptance


class DecisionForm(forms.Form):
    """acceptance_id is made with the form. decision comes with the button that was pressed."""

    acceptance_id = forms.UUIDField(widget=forms.HiddenInput)
    decision = forms.ChoiceField(
        label=_("Decision"),
        choices=Acceptance.Decision.choices,
        error_messages={"required": _("Press “Accept” or “Refuse”."), "invalid_choice": _("Press one of the buttons.")},
    )
    reason = forms.CharField(
        label=_("Reason"),
        required=False,
        help_text=_("Needed to refuse a lot, and to accept one with something still open."),
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("acceptance_id", uuid4())

"""A release, as it is signed."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _


class ReleaseForm(forms.Form):
    """release_id is made with the form, so that a double tap is one release. seen_sha256: of what the gate showed."""

    release_id = forms.UUIDField(widget=forms.HiddenInput)
    seen_sha256 = forms.CharField(widget=forms.HiddenInput)
    password = forms.CharField(
        label=_("Your password, as your signature"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": _("Type your password; it is your signature.")},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("release_id", uuid4())

"""A recorder's file: bringing it in, and saying what its channels measured."""

from collections.abc import Sequence
from typing import Any
from uuid import uuid4

from django import forms
from django.conf import settings
from django.forms.boundfield import BoundField
from django.utils.translation import gettext_lazy as _

from haccp.checks.forms.entries import EntriesForm
from haccp.checks.models import TraceFile
from haccp.checks.queries import CheckToDo
from haccp.premises.models import Instrument, User

ROLES = (
    ("product", _("the milk")),
    ("air_space", _("the air above the milk")),
    ("other", _("something else")),
)
ROLE_PREFIX = "role-"


def oversized_sentence(filename: str) -> str:
    limit_mb = settings.RECORDER_FILE_MAX_BYTES / 2**20
    return (
        f"{filename or 'This file'} is larger than {limit_mb:g} MB, which is the most that is taken. "
        "Export a shorter stretch from the recorder, or with a longer sampling interval."
    )


class UploadForm(forms.Form):
    trace_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    file = forms.FileField(
        label=_("The recorder's file"),
        help_text=_(
            "A text file with a line for each sample: the time and one or more temperatures, as recorders export it "
            "(.csv or .txt). It is kept byte for byte."
        ),
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,text/csv,text/plain"}),
        error_messages={
            "required": _("Choose the file that you exported from the recorder."),
            "empty": _("This file is empty. Export it from the recorder again."),
        },
    )


class ConfirmForm(EntriesForm):
    """The check's own entries, and for each channel of the trace what it measured."""

    def __init__(
        self,
        *args: Any,
        todo: CheckToDo,
        instruments: Sequence[Instrument],
        user: User,
        trace: TraceFile,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, todo=todo, instruments=instruments, user=user, **kwargs)
        self.fields["observed_at"].label = _("When it ended")
        # A channel's name may hold anything, so its field is named by its place in an order that every database keeps.
        self.channels = dict(enumerate(sorted(trace.roles)))
        for place, channel in self.channels.items():
            self.fields[f"{ROLE_PREFIX}{place}"] = forms.ChoiceField(
                label=f"“{channel}” measures", choices=ROLES, initial=trace.roles[channel]
            )

    def role_fields(self) -> list[BoundField]:
        return [self[f"{ROLE_PREFIX}{place}"] for place in self.channels]

    def roles(self) -> dict[str, str]:
        """channel -> role, as chosen where that can be read, else as the file suggests."""
        chosen = self.cleaned_data if self.is_bound else {}
        return {
            channel: str(chosen.get(f"{ROLE_PREFIX}{place}") or self.fields[f"{ROLE_PREFIX}{place}"].initial)
            for place, channel in self.channels.items()
        }

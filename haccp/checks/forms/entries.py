"""The form of a check: one entry for each measure of the plan, the instrument, and when it was observed."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext_lazy as _

from haccp.checks.actions import EntryTyped
from haccp.checks.judging import applies
from haccp.checks.models import Record
from haccp.checks.queries import CheckToDo
from haccp.checks.wording import target_words
from haccp.plan.models import CriticalLimit, Measure
from haccp.premises.local_time import LocalTimeField
from haccp.premises.models import Instrument, User
from haccp.science.units import quantity_of

Kind = Measure.Kind


@dataclass(frozen=True, slots=True)
class LimitShown:
    limit: CriticalLimit
    target: str


@dataclass(frozen=True, slots=True)
class MeasureRow:
    """One measure with its bound fields; unit is None where there is nothing to choose."""

    measure: Measure
    field: BoundField
    unit: BoundField | None
    kept: BoundField | None
    limits: tuple[LimitShown, ...]


class EntriesForm(forms.Form):
    """record_id is made with the form, so that a form sent twice is one record.

    Field names are those of the errors of record_save: "measure-<id>", "instrument", "observed_at". Values stay text
    here: what a number means is read by the action, so that pages, API and devices agree.
    """

    record_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)

    def __init__(
        self,
        *args: Any,
        todo: CheckToDo,
        instruments: Sequence[Instrument],
        user: User,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.todo = todo
        self.user = user
        for measure in self._entered():
            self.fields[entry_name(measure.id)] = _FIELDS[measure.kind](measure)
            if measure.kind == Kind.PHOTO:
                self.fields[kept_name(measure.id)] = forms.UUIDField(required=False, widget=forms.HiddenInput)
            if measure.kind == Kind.NUMBER:
                self.fields[unit_name(measure.id)] = _unit_field(measure, user)
        if todo.check.instrument_kind:
            self.fields["instrument"] = _instrument_field(instruments)
        self.fields["observed_at"] = LocalTimeField(
            label=_("When you looked"), error_messages={"required": _("Say when you looked.")}
        )
        self.fields["note"] = forms.CharField(
            label=_("Note"), required=False, widget=forms.Textarea(attrs={"rows": 2}), max_length=2000
        )

    def _entered(self) -> list[Measure]:
        return [one for one in self.todo.check.measures.all() if one.kind != Kind.RECORDER_FILE]

    def measure_rows(self) -> Iterator[MeasureRow]:
        for measure in self._entered():
            name, kept = unit_name(measure.id), kept_name(measure.id)
            limits = [limit for limit in measure.limits.all() if applies(limit, self.todo.lot)]
            yield MeasureRow(
                measure,
                self[entry_name(measure.id)],
                self[name] if name in self.fields else None,
                self[kept] if kept in self.fields else None,
                limits_shown(limits, self.user),
            )

    def entries(self) -> dict[UUID, EntryTyped]:
        """What record_save takes, of a valid form. A photograph is there by its id (forms.photos)."""
        return {
            measure.id: EntryTyped(self._text_of(measure), self.cleaned_data.get(unit_name(measure.id), ""))
            for measure in self._entered()
        }

    def _text_of(self, measure: Measure) -> str:
        if measure.kind == Kind.PHOTO:
            return str(self.cleaned_data.get(kept_name(measure.id)) or "")
        return str(self.cleaned_data[entry_name(measure.id)])


class AmendForm(EntriesForm):
    """reason is asked first: it is what a reader of the amended record wants to know."""

    reason = forms.CharField(
        label=_("Why it is amended"),
        help_text=_("The reason is shown beside both versions. The first one stays."),
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": _("Say why the record is amended; the reason is shown beside it.")},
    )


def initial_of(record: Record) -> dict[str, Any]:
    """A record's values as an amendment starts from them."""
    initial: dict[str, Any] = {
        "instrument": record.instrument_id,
        "observed_at": record.observed_at,
        "note": record.note,
    }
    for reading in record.readings.all():
        if reading.photo_id:
            initial[kept_name(reading.measure_id)] = reading.photo_id
            continue
        initial[entry_name(reading.measure_id)] = reading.typed_text or reading.choice
        if reading.typed_unit:
            initial[unit_name(reading.measure_id)] = reading.typed_unit
    return initial


def entry_name(measure_id: UUID) -> str:
    return f"measure-{measure_id}"


def kept_name(measure_id: UUID) -> str:
    """The hidden field of a photograph that was taken in already."""
    return f"photo-{measure_id}"


def unit_name(measure_id: UUID) -> str:
    return f"unit-{measure_id}"


def limits_shown(limits: Sequence[CriticalLimit], user: User) -> tuple[LimitShown, ...]:
    return tuple(LimitShown(limit, target_words(limit, user.preferred_unit(limit.quantity))) for limit in limits)


def _number_field(measure: Measure) -> forms.Field:
    widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
    return forms.CharField(
        label=measure.label, required=measure.required, widget=widget, max_length=80, error_messages=_missing(measure)
    )


def _answer_field(measure: Measure) -> forms.Field:
    return forms.ChoiceField(
        label=measure.label,
        required=measure.required,
        choices=[(choice, choice) for choice in measure.choices],
        widget=forms.RadioSelect,
        error_messages={"required": _("Choose an answer.")},
    )


def _text_field(measure: Measure) -> forms.Field:
    return forms.CharField(
        label=measure.label,
        required=measure.required,
        widget=forms.Textarea(attrs={"rows": 3}),
        max_length=4000,
        error_messages=_missing(measure),
    )


def _photo_field(measure: Measure) -> forms.Field:
    # Not required here: a photograph that was sent before stands in the hidden field, and the action asks for it.
    widget = forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp", "capture": "environment"})
    return forms.FileField(label=measure.label, required=False, widget=widget)


def _scan_field(measure: Measure) -> forms.Field:
    widget = forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters", "data-scan": "1"})
    return forms.CharField(
        label=measure.label,
        required=measure.required,
        widget=widget,
        max_length=80,
        error_messages={"required": _("Scan the code, or type it in.")},
    )


_FIELDS: dict[str, Callable[[Measure], forms.Field]] = {
    Kind.NUMBER: _number_field,
    Kind.ANSWER: _answer_field,
    Kind.TEXT: _text_field,
    Kind.PHOTO: _photo_field,
    Kind.SCAN: _scan_field,
}


def _missing(measure: Measure) -> dict[str, Any]:
    return {"required": f"Enter {measure.label}."}


def _unit_field(measure: Measure, user: User) -> forms.Field:
    """The person's own unit is offered first, else the plan's."""
    symbols = list(quantity_of(measure.quantity).units)
    first = user.preferred_unit(measure.quantity) or measure.unit or symbols[0]
    field = forms.ChoiceField(
        label=f"Unit of {measure.label}", choices=[(symbol, symbol) for symbol in symbols], initial=first
    )
    if len(symbols) == 1:
        field.widget = forms.HiddenInput()
    return field


def _instrument_field(instruments: Sequence[Instrument]) -> forms.Field:
    return forms.TypedChoiceField(
        label=_("Instrument"),
        choices=[("", "choose the instrument"), *((str(one.id), one.name) for one in instruments)],
        coerce=UUID,
        empty_value=None,
        error_messages={"required": _("Choose the instrument that you measured with.")},
    )

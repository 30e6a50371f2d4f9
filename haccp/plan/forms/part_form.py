"""One form for every kind of part: a field for each of its attributes, made from what the part declares of it."""

import dataclasses
from collections.abc import Callable, Iterable, Mapping
from typing import Any, cast
from uuid import uuid4

from django import forms
from django.http import QueryDict

from haccp.plan.document import KINDS, Part, PlanDocument, vocabulary
from haccp.plan.document.fingerprint import part_sha256
from haccp.plan.document.shape import Form, Spec, is_single, specs_of
from haccp.plan.forms import how_often, limit_fields
from haccp.plan.forms.fields import DurationField, LinesField, NumberField
from haccp.plan.forms.help import HELP, LABELS
from haccp.plan.labels import choice_word, label
from haccp.science.units import QUANTITIES

LONGEST_LINE = 160
# Texts that a list of choices stands behind, though the plan's file takes any.
_OFFERED: dict[tuple[str, str], Iterable[tuple[str, str]]] = {
    ("control_points", "programme"): [("", "none"), *vocabulary.PROGRAMMES.items()],
    ("measures", "quantity"): [("", "none"), *((key, one.name) for key, one in QUANTITIES.items() if key != "answer")],
    ("measures", "unit"): [("", "none"), *limit_fields.UNITS],
}


class PartForm(forms.Form):
    """kind: name of the kind. part: the one that is changed, None for a new one. only, without: names of its fields.

    given: values that a new part begins with. cleaned_part() is what was typed, whole.
    """

    key = forms.UUIDField(widget=forms.HiddenInput)
    seen_sha256 = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(
        self,
        *args: Any,
        kind: str,
        document: PlanDocument,
        part: Part | None = None,
        only: tuple[str, ...] = (),
        without: tuple[str, ...] = (),
        given: Mapping[str, Any] | None = None,
        today: str = "",
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.kind, self.document, self.part, self.today = kind, document, part, today
        self.given = {**_first_values(kind, document), **(given or {})}
        self.initial.setdefault("key", part.key if part else uuid4())
        self.names = [
            name
            for name, spec in specs_of(KINDS[kind]).items()
            if spec.form is not Form.KEY and (not only or name in only) and name not in without
        ]
        for name in self.names:
            self.fields.update(self._fields(name, specs_of(KINDS[kind])[name]))
        self.stands_sha256 = part_sha256(part, self.names) if part else ""
        self.initial.setdefault("seen_sha256", self.stands_sha256)

    def _fields(self, name: str, spec: Spec) -> dict[str, forms.Field]:
        if name == "cadence":
            return how_often.fields(self._value(name) or {})
        if self.kind == "limits" and name in limit_fields.NAMES:
            return limit_fields.fields(name, self._value)
        offered = _OFFERED.get((self.kind, name))
        if offered is not None:
            made: forms.Field = forms.ChoiceField(choices=_with(list(offered), self._value(name)), required=False)
        elif name.endswith("_s") and spec.form is Form.WHOLE:
            made = DurationField(required=False)
        else:
            made = _FIELDS[spec.form](spec, self.document, is_single(KINDS[self.kind], name))
        made.label = LABELS.get((self.kind, name), spec.words[:1].upper() + spec.words[1:])
        made.help_text = HELP.get((self.kind, name), "")
        made.initial = self._value(name)
        if made.required:
            made.error_messages["required"] = f"Give the {spec.words}."
        return {name: made}

    def _value(self, name: str) -> Any:
        """What the field begins with: of the part, else what was given, else the part's own default."""
        if self.part is not None:
            return getattr(self.part, name)
        if name in self.given:
            return self.given[name]
        found = next(field for field in dataclasses.fields(KINDS[self.kind]) if field.name == name)
        if found.default is not dataclasses.MISSING:
            return found.default
        return found.default_factory() if found.default_factory is not dataclasses.MISSING else None

    def clean(self) -> dict[str, Any]:
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        if self.errors:
            return typed
        if "cadence" in self.names:
            typed["cadence"] = how_often.read(typed, before=self._value("cadence") or {}, start=self.today)
        if self.kind == "limits":
            typed.update(limit_fields.read(typed, before=self.part))
        return typed

    def cleaned_part(self) -> Part:
        """The part as typed; attributes that this form does not show keep their value."""
        made: Any = KINDS[self.kind]
        kept = {name: self._value(name) for name in specs_of(made) if name != "key"}
        typed = {name: self._typed(name) for name in self.names}
        part: Part = made(**{**kept, **typed, "key": str(self.cleaned_data["key"])})
        return part

    def _typed(self, name: str) -> Any:
        value, spec = self.cleaned_data[name], specs_of(KINDS[self.kind])[name]
        if spec.form in (Form.PARTS, Form.PRODUCTS) and not is_single(KINDS[self.kind], name):
            return tuple(sorted(value))
        if spec.form in (Form.PART, Form.PLACE):
            return value or None
        if value is None and not spec.optional:
            return self._value(name)
        return value

    def show_again_as_seen(self) -> None:
        """After a refusal that said what had changed meanwhile: the next save is made knowing it."""
        data = cast(QueryDict, self.data).copy()
        data[self.add_prefix("seen_sha256")] = self.stands_sha256
        self.data = data

    def rename(self, fields: Mapping[str, str]) -> dict[str, str]:
        """Sentences of an action by field of the part -> by field of this form."""
        renamed = {"cadence": "often", "parameters": "evaluator"}
        return {renamed.get(name, name): sentence for name, sentence in fields.items()}


def _first_values(kind: str, document: PlanDocument) -> dict[str, Any]:
    """What a new part of the kind begins with: the next position, the next code."""
    if kind == "steps":
        return {"position": max((step.position for step in document.steps), default=0) + 1}
    if kind == "measures":
        return {"position": max((measure.position for measure in document.measures), default=-1) + 1}
    return {}


def _with(choices: list[tuple[str, str]], value: Any) -> list[tuple[str, str]]:
    """A value of an earlier time stays to be chosen."""
    known = {key for key, _ in choices}
    return choices if value in known or not value else [*choices, (value, str(value))]


# --- One field for each form of value ---


def _text(spec: Spec, document: PlanDocument, single: bool) -> forms.Field:
    widget: Any = forms.TextInput if spec.most <= LONGEST_LINE else forms.Textarea(attrs={"rows": 3})
    return forms.CharField(max_length=spec.most, required=not spec.optional, widget=widget)


def _choice(spec: Spec, document: PlanDocument, single: bool) -> forms.Field:
    return forms.ChoiceField(
        choices=[(option, choice_word(option)) for option in spec.options], required="" not in spec.options
    )


def _part(spec: Spec, document: PlanDocument, single: bool) -> forms.Field:
    found = _choices_of_parts(spec, document)
    return forms.ChoiceField(
        choices=[("", "choose" if not spec.optional else "none"), *found], required=not spec.optional
    )


def _choices_of_parts(spec: Spec, document: PlanDocument) -> list[tuple[str, str]]:
    parts = getattr(document, spec.target) if spec.target else [part for _, part in document.parts()]
    return [(part.key, label(part, document)) for part in parts]


def _products(spec: Spec, document: PlanDocument, single: bool) -> forms.Field:
    found = [(product.code, f"{product.name} ({product.code})") for product in document.products]
    if single:
        return forms.ChoiceField(choices=[("", "choose"), *found])
    return forms.MultipleChoiceField(choices=found, required=False, widget=forms.CheckboxSelectMultiple)


_FIELDS: dict[Form, Callable[[Spec, PlanDocument, bool], forms.Field]] = {
    Form.TEXT: _text,
    Form.CHOICE: _choice,
    Form.WHOLE: lambda spec, document, single: NumberField(whole=True, required=not spec.optional),
    Form.NUMBER: lambda spec, document, single: NumberField(required=not spec.optional),
    Form.FLAG: lambda spec, document, single: forms.BooleanField(required=False),
    Form.DAY: lambda spec, document, single: forms.DateField(
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": "That is no day of the calendar; give one such as 2026-01-31."},
    ),
    Form.TEXTS: lambda spec, document, single: LinesField(required=False, help_text="One a line."),
    Form.PART: _part,
    Form.PARTS: lambda spec, document, single: forms.MultipleChoiceField(
        choices=_choices_of_parts(spec, document), required=False, widget=forms.CheckboxSelectMultiple
    ),
    Form.PRODUCTS: _products,
    Form.PLACE: lambda spec, document, single: forms.ChoiceField(
        choices=[("", "none"), *((place.name, place.name) for place in document.places)], required=False
    ),
}

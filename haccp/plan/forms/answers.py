"""The questions of the library as a form."""

from collections.abc import Mapping
from typing import Any

from django import forms

from haccp.plan.forms.fields import NumberField
from haccp.plan.library.conditions import Answer, applies
from haccp.plan.library.entries import Question
from haccp.plan.library.library import Library

YES_NO = (("yes", "Yes"), ("no", "No"))


class AnswersForm(forms.Form):
    """A question of the library is a field of its id; what it decides is its help. answers() is what was chosen."""

    product_name = forms.CharField(
        label="What is the cheese called?",
        max_length=120,
        error_messages={"required": "Give the cheese its name."},
    )
    product_code = forms.CharField(
        label="A short code for it", max_length=8,
        help_text="Its batches begin with it, such as BB.",
        error_messages={"required": "Give a code of a few letters."},
    )  # fmt: skip

    def __init__(self, *args: Any, library: Library, jurisdiction: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.library = library
        for question in library.questions.values():
            self.fields[question.id] = self._field(question)
        self.initial.setdefault("jurisdiction", jurisdiction)

    def _field(self, question: Question) -> forms.Field:
        shared: dict[str, Any] = {"label": question.asks, "help_text": f"Decides: {_lower(question.decides)}"}
        missing = {"required": "Choose an answer."}
        if question.kind == "number":
            return NumberField(required=False, **shared)
        needed = question.default is None
        choices = [*question.choices] if question.kind == "choice" else [*YES_NO]
        if not needed:
            choices = [("", self._unanswered(question, dict(choices))), *choices]
        return forms.ChoiceField(
            choices=choices, required=needed, widget=forms.RadioSelect, error_messages=missing, **shared
        )

    def _unanswered(self, question: Question, words: Mapping[str, str]) -> str:
        """What holds where nothing is chosen."""
        if question.ask_when:
            return "not answered"
        if any(question.id in family.typical for family in self.library.families.values()):
            return "as is usual for this family"
        default = question.default
        key = ("yes" if default else "no") if isinstance(default, bool) else str(default)
        return f"not answered, taken as: {_lower(words.get(key, key))}"

    def clean(self) -> dict[str, Any]:
        """Facts on which safety rests are not taken as usual: they are asked where they matter."""
        typed = super().clean() or {}
        for question in self.library.questions.values():
            matters = bool(question.ask_when) and applies(question.ask_when, self.answers())
            if matters and typed.get(question.id) in (None, ""):
                self.add_error(question.id, f"Answer this one too. It decides: {_lower(question.decides)}")
        return typed

    def asked(self) -> dict[str, Any]:
        """The arguments of the actions that draft from answers."""
        return {
            "answers": self.answers(),
            "product_name": self.cleaned_data["product_name"],
            "product_code": self.cleaned_data["product_code"],
        }

    def answers(self) -> Mapping[str, Answer]:
        """Only what was answered; the rest is the family's usual."""
        found: dict[str, Answer] = {}
        for question in self.library.questions.values():
            typed = self.cleaned_data.get(question.id)
            if typed in (None, ""):
                continue
            found[question.id] = typed == "yes" if question.kind == "yes_no" else typed
        return found


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]

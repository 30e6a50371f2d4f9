"""What a person types about a revision as a whole: its settings, a file, a signature, a review."""

from typing import Any
from uuid import uuid4

from django import forms

from haccp.plan.forms.fields import NumberField
from haccp.plan.models import MilkSpecies, MilkTreatment, TriggerKind
from haccp.premises.local_time import LocalTimeField, begins_now


def password_field() -> forms.CharField:
    return forms.CharField(
        label="Your password, as your signature",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": "Type your password; it is your signature."},
    )


class CopyForm(forms.Form):
    change_summary = forms.CharField(
        label="What is this revision for?",
        widget=forms.Textarea(attrs={"rows": 2}),
        max_length=2000,
        error_messages={"required": "Say in a sentence why the plan is changed."},
    )


class FileForm(forms.Form):
    file = forms.FileField(
        label="Plan file (JSON)",
        error_messages={"required": "Choose a plan that was exported as JSON.", "empty": "The file is empty."},
    )


class SettingsForm(forms.Form):
    scope_statement = forms.CharField(
        label="Scope",
        required=False,
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Which cheeses, from which milk to which point; sold how.",
    )
    change_summary = forms.CharField(
        label="What changed", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 3})
    )
    significant_from = NumberField(
        whole=True,
        required=False,
        label="A hazard is significant from",
        help_text="Likelihood multiplied by severity, such as 6.",
    )
    always_significant_severity = NumberField(
        whole=True,
        required=False,
        label="Always significant from severity",
        help_text="However unlikely it is, such as 5.",
    )
    review_every_months = NumberField(
        whole=True, label="Reviewed every … months", error_messages={"required": "Give a number of months, such as 12."}
    )  # fmt: skip
    records_reviewed_within = NumberField(
        whole=True, label="Each day reviewed within … working days",
        help_text="By a second person. Seven is the rule of the United States (21 CFR 117.165), which asks for a "
        "written reason where it is longer; ask your authority what holds where you are.",
        error_messages={"required": "Give a number of working days, such as 7."},
    )  # fmt: skip


class ApproveForm(forms.Form):
    """seen_sha256: of exactly what the page showed."""

    seen_sha256 = forms.CharField(widget=forms.HiddenInput)
    effective_from = LocalTimeField(
        label="In force from", error_messages={"required": "Say from when the revision is in force."}
    )
    password = password_field()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        begins_now(self, "effective_from")


class ConfirmationForm(forms.Form):
    seen_sha256 = forms.CharField(widget=forms.HiddenInput)
    confirmed_on = forms.DateField(
        label="Walked on",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"required": "Give the day on which you walked the process.",
                        "invalid": "That is no day of the calendar; give one such as 2026-01-31."},
    )  # fmt: skip
    note = forms.CharField(label="What you noticed", required=False, widget=forms.Textarea(attrs={"rows": 2}))
    password = password_field()


class ReviewForm(forms.Form):
    """review_id: made by the page, so that a double tap is one review."""

    review_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    outcome = forms.CharField(
        label="What the review looked at, and what it found",
        widget=forms.Textarea(attrs={"rows": 4}),
        error_messages={"required": "Say what the review looked at and what it found."},
    )
    change_needed = forms.BooleanField(label="The plan needs a change", required=False)
    password = password_field()


class OccasionForm(forms.Form):
    kind = forms.ChoiceField(label="What happened", choices=TriggerKind.choices)
    description = forms.CharField(
        label="In your words",
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": "Say what happened."},
    )
    occurred_at = LocalTimeField(label="When", error_messages={"required": "Give the time when it happened."})

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        begins_now(self, "occurred_at")


class ProductForm(forms.Form):
    """A cheese by its identity: its name and code are its own, so that a double tap is refused."""

    name = forms.CharField(label="Name of the cheese", max_length=120)
    code = forms.CharField(label="Code", max_length=8, help_text="Its batches begin with it, such as BB.")
    species = forms.ChoiceField(label="Milk", choices=MilkSpecies.choices, widget=forms.RadioSelect)
    treatment = forms.ChoiceField(
        label="Treatment of the milk", choices=MilkTreatment.choices, widget=forms.RadioSelect
    )
    family = forms.CharField(label="Family", max_length=60, required=False)

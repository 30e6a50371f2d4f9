"""The form that asks for a pack."""

from typing import Any
from uuid import UUID

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.recall.models import Recall
from haccp.deviations.models import Deviation
from haccp.plan.models import ControlPoint, Product
from haccp.premises.errors import ActionError
from haccp.premises.models import Premises
from haccp.reports.choosing import batches_named
from haccp.reports.dates import day_words
from haccp.reports.gather.choice import Choice
from haccp.reports.gather.scope import natural_order
from haccp.reports.languages import DEFAULT, LANGUAGES

DEVIATIONS_OFFERED = 200
LONGEST_DAYS = 366
NARROWED = ("point", "products", "batches", "deviation", "recall")


class DaysForm(forms.Form):
    """Local days, both ends included."""

    period_from = forms.DateField(
        label=_("From"),
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={
            "required": _("Choose the first day that the pack shows."),
            "invalid": _("That is not a day of the calendar. Write it as 2026-03-01."),
        },
    )
    period_to = forms.DateField(
        label=_("To, this day included"),
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={
            "required": _("Choose the last day that the pack shows."),
            "invalid": _("That is not a day of the calendar. Write it as 2026-03-31."),
        },
    )

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        first, last = typed.get("period_from"), typed.get("period_to")
        if first and last and not 0 <= (last - first).days < LONGEST_DAYS:
            self.add_error(
                "period_to",
                _("The period ends before it begins; swap the two days.")
                if last < first
                else _("That is more than a year; ask for it in two parts."),
            )
        return typed


class PackForm(DaysForm):
    """pack_id is made with the form, so that a double tap asks for one pack. Cleans to what pack_request takes."""

    pack_id = forms.UUIDField(widget=forms.HiddenInput)
    point = forms.ChoiceField(label=_("One control point"), required=False)
    products = forms.MultipleChoiceField(label=_("Cheeses"), required=False, widget=forms.CheckboxSelectMultiple)
    batches = forms.CharField(
        label=_("Batches, by their codes"),
        required=False,
        max_length=2000,
        help_text=_("With spaces between them. A batch is shown from its milk to today, whatever the days above."),
    )
    deviation = forms.ChoiceField(
        label=_("One deviation"), required=False, help_text=_("Shown with all that was done about it, to today.")
    )
    recall = forms.ChoiceField(
        label=_("One recall or exercise"),
        required=False,
        help_text=_("Shown with every batch on its list, from the milk to today."),
    )

    language = forms.ChoiceField(
        label=_("Language of its own words"),
        choices=LANGUAGES,
        required=False,
        help_text=_(
            "What people typed, the plan and the sentences of rulings stay in the words in which they were sealed."
        ),
    )

    def __init__(self, *args: Any, premises: Premises, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.premises = premises
        names = dict(
            ControlPoint.objects.filter(revision__premises=premises, revision__approval__isnull=False)
            .order_by("revision__number")
            .values_list("code", "name")
        )
        fields: Any = self.fields
        fields["point"].choices = [
            ("", _("all of them")),
            *((code, f"{code} {names[code]}") for code in sorted(names, key=natural_order)),
        ]
        products = Product.objects.filter(premises=premises).order_by("name")
        fields["products"].choices = [(str(one.id), one.name) for one in products]
        rows = Deviation.objects.for_premises(premises).order_by("-year", "-number")[:DEVIATIONS_OFFERED]
        fields["deviation"].choices = [
            ("", _("none in particular")),
            *((str(one.id), f"{one.reference} · {one.summary[:60]}") for one in rows),
        ]

        recalls = Recall.objects.filter(premises=premises).order_by("-started_at")[:DEVIATIONS_OFFERED]
        fields["recall"].choices = [
            ("", _("none in particular")),
            *((str(one.id), f"{_recall_words(premises, one)} · {one.reason[:60]}") for one in recalls),
        ]

    @property
    def has_choice(self) -> bool:
        """Whether the part of the form that narrows the pack is to be open."""
        return any(self[name].value() for name in NARROWED)

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        narrowed = [name for name in NARROWED if typed.get(name)]
        if len(narrowed) > 1:
            self.add_error(
                narrowed[1], _("A pack shows one of these: leave all but one of them empty, or ask for two packs.")
            )
            return typed
        try:
            batches = batches_named(self.premises, typed.get("batches") or "")
        except ActionError as error:
            self.add_error("batches", error.message)
            return typed
        return {name: typed.get(name) for name in ("pack_id", "period_from", "period_to")} | {
            "language": typed.get("language") or DEFAULT,
            "choice": Choice(
                products=tuple(UUID(one) for one in typed.get("products") or ()),
                batches=batches,
                point=typed.get("point") or "",
                deviation=UUID(typed["deviation"]) if typed.get("deviation") else None,
                recall=UUID(typed["recall"]) if typed.get("recall") else None,
            ),
        }


def _recall_words(premises: Premises, recall: Recall) -> str:
    return f"{recall.get_kind_display().capitalize()} of {day_words(premises.local_date(recall.started_at))}"

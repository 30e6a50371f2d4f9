"""Public holidays: the days that do not count where a review has so many working days."""

from datetime import date
from typing import Any
from uuid import UUID, uuid4, uuid5

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_POST

from haccp.checks import actions
from haccp.checks.actions import DaySaid
from haccp.checks.free_days import countries_for, free_days_listed, free_days_of, proposed, regions_of
from haccp.premises.errors import ActionError
from haccp.premises.models import Premises
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


class LookUpForm(forms.Form):
    """Whose public holidays are proposed; sent by GET."""

    country = forms.ChoiceField(label=_("Country"))
    region = forms.ChoiceField(label=_("Part of it"), required=False)
    year = forms.TypedChoiceField(label=_("Year"), coerce=int)

    def __init__(self, data: Any, *, premises: Premises, today: date) -> None:
        countries = countries_for(premises)
        asked = data.get("country") if data.get("country") in countries else next(iter(countries), "")
        years = (today.year, today.year + 1)
        given = {
            "country": asked,
            "region": data.get("region") if data.get("region") in regions_of(asked) else "",
            "year": data.get("year") if data.get("year") in map(str, years) else str(today.year),
        }
        super().__init__(given)
        for name, choices in (
            ("country", list(countries.items())),
            ("region", [("", _("all of it")), *((one, one) for one in regions_of(asked))]),
            ("year", [(one, str(one)) for one in years]),
        ):
            self.fields[name].choices = choices  # type: ignore[attr-defined]

    def days(self) -> dict[date, str]:
        if not self.is_valid():
            return {}
        typed = self.cleaned_data
        return proposed(typed["country"], typed["region"], typed["year"])


class FreeDaysForm(forms.Form):
    """said_id is made with the form, so that a double tap says each day once."""

    said_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    days = forms.MultipleChoiceField(
        label=_("Public holidays to come"), required=False, widget=forms.CheckboxSelectMultiple
    )
    own_day = forms.DateField(
        label=_("Another day"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": _("That is no day of the calendar; give one such as 2026-01-31.")},
    )
    own_name = forms.CharField(label=_("Its name"), max_length=120, required=False)

    def __init__(self, *args: Any, offered: dict[date, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offered = {day.isoformat(): name for day, name in offered.items()}
        names = [(day, f"{date.fromisoformat(day):%a %d %b %Y}: {name}") for day, name in self.offered.items()]
        self.fields["days"].choices = names  # type: ignore[attr-defined]
        self.initial.setdefault("days", list(self.offered))

    def said(self) -> list[DaySaid]:
        typed, said_id = self.cleaned_data, self.cleaned_data["said_id"]
        found = [(date.fromisoformat(day), self.offered[day]) for day in typed["days"]]
        if typed["own_day"]:
            found.append((typed["own_day"], typed["own_name"]))
        return [DaySaid(uuid5(said_id, day.isoformat()), day, name) for day, name in found]


@needs(Right.READ)
def free_days(request: ScopedRequest) -> HttpResponse:
    """The days to come that are no working days."""
    premises = request.scope.premises
    context = {
        "listed": free_days_listed(premises, since=premises.local_date(timezone.now())),
        "said_id": uuid4(),
        "may_manage": request.scope.may(Right.MANAGE),
    }
    return render(request, "checks/free_days.html", context)


@needs(Right.MANAGE)
def free_days_add(request: ScopedRequest) -> HttpResponse:
    """?country=, region=, year= choose which public holidays are proposed."""
    premises = request.scope.premises
    today = premises.local_date(timezone.now())
    look_up = LookUpForm(request.GET, premises=premises, today=today)
    there = free_days_of(premises)
    offered = {day: name for day, name in look_up.days().items() if day >= today and day not in there}
    form = FreeDaysForm(request.POST or None, offered=offered)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            said = actions.free_days_say(scope=request.scope, days=form.said())
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{len(said)} days do not count as working days.")
            return redirect("checks:free_days")
    return render_form(request, "checks/free_days_add.html", {"look_up": look_up}, form=form, status=status)


@needs(Right.MANAGE)
@require_POST
def free_day_end(request: ScopedRequest) -> HttpResponse:
    """The day named `working` is a working day after all."""
    try:
        said = DaySaid(UUID(request.POST["said_id"]), date.fromisoformat(request.POST["working"]), is_free=False)
        actions.free_days_say(scope=request.scope, days=[said])
    except (KeyError, ValueError):
        messages.error(request, "Choose the day from the list.")
    except ActionError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, "It counts as a working day again.")
    return redirect("checks:free_days")

"""Whose check it is, who is away, and what nobody covers."""

from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.checks import actions
from haccp.checks.cover import Cover, cover_of, uncovered
from haccp.checks.models import Absence
from haccp.plan.models import Check
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right, may
from haccp.premises.scope import ScopedRequest, needs

NOBODY = ("", "nobody")


def _day(label: Any) -> forms.DateField:
    return forms.DateField(
        label=label,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": _("That is no day of the calendar; give one such as 2026-01-31.")},
    )


def _people(cover: Cover) -> list[tuple[str, str]]:
    return [(str(one.pk), one.user.name) for one in cover.people.values() if may(one, Right.RECORD)]


class KeeperForm(forms.Form):
    keeper_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    membership = forms.TypedChoiceField(label=_("Who does it"), required=False, coerce=UUID, empty_value=None)

    def __init__(self, *args: Any, people: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["membership"].choices = [("", "whoever is there"), *people]  # type: ignore[attr-defined]


class AbsenceForm(forms.Form):
    absence_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    membership = forms.TypedChoiceField(label=_("Who is away"), coerce=UUID)
    first = _day(_("First day away"))
    last = _day(_("Last day away"))
    stand_in = forms.TypedChoiceField(label=_("Who stands in"), required=False, coerce=UUID, empty_value=None)
    note = forms.CharField(label=_("Note"), max_length=200, required=False)

    def __init__(self, *args: Any, own: tuple[str, str], people: list[tuple[str, str]], all_may: bool, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.fields["membership"].choices = people if all_may else [own]  # type: ignore[attr-defined]
        self.fields["membership"].initial = own[0]
        self.fields["stand_in"].choices = [NOBODY, *people]  # type: ignore[attr-defined]


class BackForm(forms.Form):
    on = _day(_("Back on"))


@needs(Right.READ)
def cover(request: ScopedRequest) -> HttpResponse:
    premises, now = request.scope.premises, timezone.now()
    found, today = cover_of(premises), premises.local_date(now)
    revision = revision_in_force(premises, now)
    of_plan = revision.checks.all() if revision else Check.objects.none()
    checks = of_plan.select_related("control_point", "place").order_by("control_point__code", "name")
    rows = [(check, found.keepers.get(UUID(check.key)), found.doer(check, today)) for check in checks]
    absences = (
        Absence.objects.filter(membership__premises=premises, last__gte=today)
        .select_related("membership__user", "stand_in__user", "back")
        .order_by("first")
    )
    context = {
        "uncovered": uncovered(premises, now),
        "rows": [(check, found.people.get(keeper) if keeper else None, doer) for check, keeper, doer in rows],
        "absences": absences,
        "own": request.scope.membership.pk,
        "may_manage": request.scope.may(Right.MANAGE),
        "can_record": request.scope.may(Right.RECORD),
    }
    return render(request, "checks/cover.html", context)


@needs(Right.MANAGE)
def keeper(request: ScopedRequest, check_id: UUID) -> HttpResponse:
    check = Check.objects.filter(revision__premises=request.scope.premises, id=check_id).first()
    if check is None:
        raise Http404
    found = cover_of(request.scope.premises)
    form = KeeperForm(
        request.POST or None,
        people=_people(found),
        initial={"membership": str(found.keepers.get(UUID(check.key)) or "")},
    )
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.keeper_set(
                scope=request.scope,
                keeper_id=form.cleaned_data["keeper_id"],
                check_id=check.pk,
                membership_id=form.cleaned_data["membership"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{check.name}: saved.")
            return redirect("checks:cover")
    return render_form(
        request, "checks/cover_form.html", {"title": f"Who does it: {check.name}"}, form=form, status=status
    )


@needs(Right.RECORD)
def absence(request: ScopedRequest) -> HttpResponse:
    scope = request.scope
    own = (str(scope.membership.pk), scope.user.name)
    form = AbsenceForm(
        request.POST or None, own=own, people=_people(cover_of(scope.premises)), all_may=scope.may(Right.MANAGE)
    )
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            actions.absence_add(
                scope=scope,
                absence_id=typed["absence_id"],
                membership_id=typed["membership"],
                first=typed["first"],
                last=typed["last"],
                stand_in_id=typed["stand_in"],
                note=typed["note"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "It is noted.")
            return redirect("checks:cover")
    return render_form(request, "checks/cover_form.html", {"title": "Somebody is away"}, form=form, status=status)


@needs(Right.RECORD)
def back(request: ScopedRequest, absence_id: UUID) -> HttpResponse:
    found = (
        Absence.objects.filter(membership__premises=request.scope.premises, id=absence_id)
        .select_related("membership__user")
        .first()
    )
    if found is None:
        raise Http404
    form = BackForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.absence_end(scope=request.scope, absence_id=found.pk, on=form.cleaned_data["on"])
        except ActionError as error:
            status = refuse(form, error)
        else:
            return redirect("checks:cover")
    title = f"{found.membership.user.name} is back sooner"
    return render_form(request, "checks/cover_form.html", {"title": title}, form=form, status=status)

"""Brines: the list, a new one, one with what was done to it and what lay in it."""

from collections.abc import Callable
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from batches.making import actions
from batches.making.brines import Standing, brines_at, readings_of, tanks_of
from batches.making.forms import BrineForm, DiscardForm, LayInForm, RefreshForm
from haccp.lots.queries import holds_of
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

PER_PAGE = 50
READINGS_SHOWN = 30


@needs(Right.READ)
def brines(request: ScopedRequest) -> HttpResponse:
    scope = request.scope
    page = Paginator(brines_at(scope.premises), PER_PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "has_tank": tanks_of(scope.premises).exists(), "may_record": scope.may(Right.RECORD)}
    return render(request, "making/brines.html", context)


@needs(Right.RECORD)
def brine_new(request: ScopedRequest) -> HttpResponse:
    form = BrineForm(request.POST or None, scope=request.scope)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            made = actions.brine_make_up(
                scope=request.scope,
                lot_id=typed["request_id"],
                tank_id=typed["tank"],
                water=typed["water"],
                made_at=typed["at"],
                **form.put_in(),
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, _("%(code)s is made up.") % {"code": made.lot.code})
            return redirect("making:brine", made.pk)
    context: dict[str, object] = {"has_tank": tanks_of(request.scope.premises).exists()}
    return render_form(request, "making/brine_new.html", context, form=form, status=status)


@needs(Right.READ)
def brine(request: ScopedRequest, brine_id: UUID) -> HttpResponse:
    return _page(request, _found(request, brine_id))


@needs(Right.RECORD)
@require_POST
def brine_refresh(request: ScopedRequest, brine_id: UUID) -> HttpResponse:
    found = _found(request, brine_id)
    form = RefreshForm(request.POST, scope=request.scope)

    def save() -> str:
        typed = form.cleaned_data
        actions.brine_refresh(
            scope=request.scope,
            change_id=typed["request_id"],
            brine_id=found.pk,
            refreshed_at=typed["at"],
            **form.put_in(),
        )
        return _("%(code)s: refreshed.") % {"code": found.lot.code}

    return _saved(request, found, form, save)


@needs(Right.RECORD)
@require_POST
def brine_discard(request: ScopedRequest, brine_id: UUID) -> HttpResponse:
    found = _found(request, brine_id)
    form = DiscardForm(request.POST, scope=request.scope)

    def save() -> str:
        typed = form.cleaned_data
        actions.brine_discard(
            scope=request.scope,
            change_id=typed["request_id"],
            brine_id=found.pk,
            reason=typed["reason"],
            discarded_at=typed["at"],
        )
        return _("%(code)s: discarded.") % {"code": found.lot.code}

    return _saved(request, found, form, save)


@needs(Right.RECORD)
@require_POST
def brine_lay_in(request: ScopedRequest, brine_id: UUID) -> HttpResponse:
    found = _found(request, brine_id)
    form = LayInForm(request.POST, scope=request.scope, brine=found)

    def save() -> str:
        typed = form.cleaned_data
        use = actions.batch_lay_in_brine(
            scope=request.scope,
            use_id=typed["request_id"],
            brine_id=found.pk,
            make_id=typed["make"],
            laid_in_at=typed["at"],
        )
        return _("%(batch)s lies in %(code)s.") % {"batch": use.make, "code": found.lot.code}

    return _saved(request, found, form, save)


Form = RefreshForm | DiscardForm | LayInForm


def _saved(request: ScopedRequest, found: Standing, form: Form, save: Callable[[], str]) -> HttpResponse:
    status = 0
    if form.is_valid():
        try:
            words = save()
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, words)
            return redirect("making:brine", found.pk)
    return _page(request, found, form, status)


def _found(request: ScopedRequest, brine_id: UUID) -> Standing:
    return get_object_or_404(brines_at(request.scope.premises).select_related("lot__premises"), pk=brine_id)


def _page(request: ScopedRequest, found: Standing, posted: Form | None = None, status: int = 0) -> HttpResponse:
    scope = request.scope
    forms: dict[str, Form] = {
        "lay_in": LayInForm(scope=scope, brine=found),
        "refresh": RefreshForm(scope=scope),
        "discard": DiscardForm(scope=scope),
    }
    for name, form in forms.items():
        if type(form) is type(posted) and posted is not None:
            forms[name] = posted
    context: dict[str, object] = {
        "brine": found,
        "changes": found.changes.select_related("salt__parent", "recorded_by"),
        "uses": found.uses.select_related("make__lot__product", "recorded_by"),
        "readings": readings_of(found)[:READINGS_SHOWN],
        "holds": holds_of(found.lot),
        "forms": forms,
        "may_record": scope.may(Right.RECORD) and found.discarded_at is None,
    }
    return render_form(request, "making/brine.html", context, form=posted or forms["lay_in"], status=status)

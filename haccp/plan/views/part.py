"""Adding, changing and removing one part: one mechanism for every kind."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from haccp.plan import actions
from haccp.plan.document import KIND_WORDS, KINDS
from haccp.plan.document.parts import CriticalLimit
from haccp.plan.document.removal import removal
from haccp.plan.document.shape import Form, specs_of
from haccp.plan.forms import PartForm
from haccp.plan.labels import label
from haccp.plan.sections import Section
from haccp.plan.views.found import part_here, section_named, shown_in, workspace_here
from haccp.plan.workspace import Workspace, facts
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

WATCHED = "watched_at"


@needs(Right.EDIT_PLAN)
def part_add(request: ScopedRequest, revision_id: UUID, section: str, kind: str) -> HttpResponse:
    """?<field>=<key> fills a reference in: a measure for this check, a limit for that control point."""
    work, place = workspace_here(request, revision_id), section_named(section)
    shown = shown_in(place, kind)
    given: dict[str, Any] = {name: request.GET[name] for name in specs_of(KINDS[kind]) if name in request.GET}
    if shown.point_kind:
        given["kind"] = shown.point_kind
    form = PartForm(
        request.POST or None,
        kind=kind,
        document=work.document,
        without=(*shown.without, *(("kind",) if shown.point_kind else ())),
        given=_usable(work, kind, given),
        today=_today(request),
    )
    _offer_measures(form, work)
    if request.method == "POST" and form.is_valid():
        saved = _save(request, work, form, new=True)
        if saved is None:
            return _back(request, work, place, str(form.cleaned_data["key"]), "Added.")
        return _form_page(request, work, place, form, saved)
    return _form_page(request, work, place, form)


@needs(Right.EDIT_PLAN)
def part_change(request: ScopedRequest, revision_id: UUID, section: str, part_id: UUID) -> HttpResponse:
    work, place = workspace_here(request, revision_id), section_named(section)
    part, kind, shown = part_here(work, place, part_id)
    form = PartForm(
        request.POST or None,
        kind=kind,
        document=work.document,
        part=part,
        only=shown.fields,
        without=(*shown.without, *(("kind",) if shown.point_kind else ())),
        today=_today(request),
    )
    _offer_measures(form, work)
    if request.method == "POST" and form.is_valid():
        if str(form.cleaned_data["key"]) != part.key:
            raise Http404
        saved = _save(request, work, form, new=False)
        if saved is None:
            return _back(request, work, place, part.key, "Saved.")
        return _form_page(request, work, place, form, saved)
    return _form_page(request, work, place, form)


@needs(Right.EDIT_PLAN)
def part_remove(request: ScopedRequest, revision_id: UUID, section: str, part_id: UUID) -> HttpResponse:
    """Asks first, and says what goes with it."""
    work, place = workspace_here(request, revision_id), section_named(section)
    part, kind, _ = part_here(work, place, part_id)
    form, status = forms.Form(request.POST if request.method == "POST" else None), 0
    if request.method == "POST":
        try:
            gone = actions.part_remove(scope=request.scope, revision=work.revision, kind=kind, key=part.key)
        except ActionError as error:
            form.is_valid()
            status = refuse(form, error)
        else:
            with_it = f" With it went {len(gone) - 1} that belonged to it." if len(gone) > 1 else ""
            return _back(request, work, place, "", f"Removed: {part.title}.{with_it}")
    going = removal(work.document, part.key)
    context: dict[str, object] = {
        "work": work,
        "revision": work.revision,
        "section": place,
        "part": part,
        "words": KIND_WORDS[kind],
        "title": label(part, work.document),
        "facts": list(facts(part, work.document)),
        "going": [
            (KIND_WORDS[work.document.kind_of[one.key]], label(one, work.document))
            for one in going.removed
            if one.key != part.key
        ],
        "staying": [label(one, work.document) for one in going.still_referring],
    }
    return render_form(request, "plan/part_remove.html", context, form=form, status=status)


def _usable(work: Workspace, kind: str, given: Mapping[str, Any]) -> dict[str, Any]:
    """Of what the address names, the references that are in this plan, and choices that are offered."""
    found = {}
    for name, value in given.items():
        spec = specs_of(KINDS[kind])[name]
        is_part = spec.form is Form.PART and value in work.document.by_key
        if is_part or (spec.form is Form.CHOICE and value in spec.options):
            found[name] = value
    return found


def _today(request: ScopedRequest) -> str:
    return request.scope.premises.local_date(timezone.now()).isoformat()


def _offer_measures(form: PartForm, work: Workspace) -> None:
    """A limit is judged where something is entered: the measures of its plan are offered with it."""
    if form.kind != "limits":
        return
    checks = {check.key: check for check in work.document.checks}
    codes = {point.key: point.code for point in work.document.control_points}
    offered: list[tuple[str, str]] = [
        (one.key, f"{codes[checks[one.check].control_point]} · {checks[one.check].name}: {one.label}")
        for one in work.document.measures
        if one.kind != "text"
    ]
    limit = form.part.key if isinstance(form.part, CriticalLimit) else ""
    offered.sort(key=lambda one: one[1])
    form.fields[WATCHED] = forms.MultipleChoiceField(
        label="Judged by what is entered here",
        choices=offered,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        initial=[one.key for one in work.document.measures if limit in one.limits],
        help_text="A limit that nothing is judged by is not monitored.",
    )


def _save(request: ScopedRequest, work: Workspace, form: PartForm, *, new: bool) -> int | None:
    """None when saved, else the status of the refusal, which the form now shows."""
    part = form.cleaned_part()
    seen = None if new else actions.Seen(tuple(form.names), form.cleaned_data["seen_sha256"])
    try:
        if isinstance(part, CriticalLimit):
            actions.limit_save(
                scope=request.scope,
                revision=work.revision,
                limit=part,
                measures=form.cleaned_data[WATCHED],
                new=new,
                seen=seen,
            )
        elif new:
            actions.part_add(scope=request.scope, revision=work.revision, part=part)
        else:
            actions.part_change(scope=request.scope, revision=work.revision, part=part, seen=seen)
    except Conflict as error:
        if new and work.document.by_key.get(part.key) == part:
            return None  # sent twice
        form.show_again_as_seen()
        return refuse(form, error)
    except ActionError as error:
        return refuse(form, ActionError(error.message, fields=form.rename(error.fields)))
    return None


def _form_page(
    request: ScopedRequest, work: Workspace, place: Section, form: PartForm, status: int = 0
) -> HttpResponse:
    words = KIND_WORDS[form.kind]
    context: dict[str, object] = {
        "work": work,
        "revision": work.revision,
        "section": place,
        "words": words,
        "part": form.part,
        "may_manage": request.scope.may(Right.MANAGE),
        "title": label(form.part, work.document) if form.part else f"New {words}",
        "findings": work.by_part.get(form.part.key, []) if form.part else [],
        "sources": work.marks.get(form.part.key, []) if form.part else [],
        "questions": work.questions.get(form.part.key, []) if form.part else [],
    }
    return render_form(request, "plan/part_form.html", context, form=form, status=status)


def _back(request: ScopedRequest, work: Workspace, place: Section, key: str, said: str) -> HttpResponse:
    messages.success(request, said)
    address = redirect("plan:section", work.revision.pk, place.slug)
    if key:
        address["Location"] += f"#part-{key}"
    return address

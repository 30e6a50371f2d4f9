"""One section of a revision: its parts in words, what is found about them, and the ways to change them."""

from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from haccp.plan import actions
from haccp.plan.actions.confirmation import CONFIRMATION_STATEMENT
from haccp.plan.document.fingerprint import flow_sha256
from haccp.plan.flow_diagram import flow_diagram
from haccp.plan.forms.standing import ConfirmationForm, SettingsForm
from haccp.plan.models import FlowConfirmation, Product
from haccp.plan.sections import SECTIONS, Section
from haccp.plan.views.found import revision_here, section_named, workspace_here
from haccp.plan.views.worksheet import worksheet
from haccp.plan.workspace import Workspace
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def section(request: ScopedRequest, revision_id: UUID, section: str) -> HttpResponse:
    work = workspace_here(request, revision_id)
    return section_page(request, work, section_named(section))


@needs(Right.EDIT_PLAN)
@require_POST
def settings(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    """What the draft says of itself as a whole."""
    revision = revision_here(request, revision_id)
    form = SettingsForm(request.POST)
    status = 0
    if form.is_valid():
        try:
            actions.revision_change(scope=request.scope, revision=revision, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "Saved.")
            return redirect("plan:section", revision.pk, "scope")
    work = workspace_here(request, revision_id)
    return section_page(request, work, section_named("scope"), form=form, status=status)


@needs(Right.EDIT_PLAN)
@require_POST
def answer_questions(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    """Answers to the open questions, as many as were typed at once."""
    revision = revision_here(request, revision_id)
    typed = {
        key.removeprefix("answer-"): str(value).strip()
        for key, value in request.POST.items()
        if key.startswith("answer-")
    }
    try:
        count = actions.judgements_answer(scope=request.scope, revision=revision, answers=typed)
    except ActionError as error:
        form = forms.Form(request.POST)
        status = refuse(form, error)
        work = workspace_here(request, revision_id)
        return section_page(request, work, section_named("judgements"), form=form, status=status, typed=typed)
    messages.success(request, f"{count} answer{'s' if count != 1 else ''} saved.")
    return redirect("plan:section", revision.pk, "judgements")


def section_page(
    request: ScopedRequest,
    work: Workspace,
    section: Section,
    *,
    form: forms.Form | None = None,
    status: int = 0,
    typed: dict[str, str] | None = None,
) -> HttpResponse:
    """form: one that was refused, shown with what was typed."""
    place = SECTIONS.index(section)
    context: dict[str, object] = {
        "work": work,
        "revision": work.revision,
        "section": section,
        "sections": SECTIONS,
        "groups": work.groups(section),
        "findings": [one for one in work.by_section[section.slug] if not one.part_key],
        "all_findings": work.by_section[section.slug],
        "before": SECTIONS[place - 1] if place else None,
        "after": SECTIONS[place + 1] if place + 1 < len(SECTIONS) else None,
        "typed": typed or {},
    }
    shown = form or forms.Form()
    if section.slug == "scope":
        shown = form or SettingsForm(initial={name: getattr(work.revision, name) for name in SettingsForm.base_fields})
    elif section.slug in ("flow", "confirmation"):
        context["flow"] = flow_diagram(work.document, title=f"Flow of {work.revision}", id_prefix="flow")
    if section.slug == "confirmation":
        fingerprint = flow_sha256(work.document)
        confirmed = FlowConfirmation.objects.filter(revision__premises=request.scope.premises)
        shown = form or ConfirmationForm(
            initial={
                "seen_sha256": fingerprint,
                "confirmed_on": request.scope.premises.local_date(timezone.now()),
            }
        )
        context["confirmations"] = list(confirmed.select_related("signature", "revision"))
        context["fingerprint"], context["statement"] = fingerprint, CONFIRMATION_STATEMENT
    elif section.slug == "product":
        context["cheeses"] = list(Product.objects.filter(premises=request.scope.premises))
    elif section.slug == "judgements":
        context["points"] = {point.key for point in work.document.control_points}
    elif section.slug in ("hazards", "ccps"):
        context["worksheet"] = worksheet(work, determined_only=section.slug == "ccps")
    return render_form(request, "plan/section.html", context, form=shown, status=status)

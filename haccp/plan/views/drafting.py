"""Ways to begin a draft, to add a cheese to one, and to put one away; and the file of a revision."""

from collections.abc import Callable
from datetime import datetime
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from haccp.plan import actions
from haccp.plan.document.file import MOST_BYTES, write_file
from haccp.plan.forms.answers import AnswersForm
from haccp.plan.forms.standing import CopyForm, FileForm
from haccp.plan.from_library import cheese_add_from_answers, cheese_draft_beside, plan_draft_from_answers
from haccp.plan.library_store import library_ready
from haccp.plan.queries import revision_in_force
from haccp.plan.rows import read_plan
from haccp.plan.views.found import revision_here, workspace_here
from haccp.premises.errors import ActionError, NotAllowed
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.EDIT_PLAN)
def copy(request: ScopedRequest) -> HttpResponse:
    """A new draft with all that the revision in force says; an empty one where none is in force."""
    in_force = revision_in_force(request.scope.premises, timezone.now())
    form, status = CopyForm(request.POST or None), 0
    if request.method == "POST" and form.is_valid():
        why, now = form.cleaned_data["change_summary"], timezone.now()
        try:
            if in_force is not None:
                draft = actions.revision_copy(scope=request.scope, change_summary=why, at=now, source=in_force)
            else:
                draft = actions.revision_draft(scope=request.scope, scope_statement="", change_summary=why, at=now)
        except ActionError as error:
            status = refuse(form, error)
        else:
            return redirect("plan:workspace", draft.pk)
    return render_form(request, "plan/copy.html", {"in_force": in_force}, form=form, status=status)


@needs(Right.EDIT_PLAN)
def answers(request: ScopedRequest) -> HttpResponse:
    """A dozen questions, and a draft that is the producer's to edit. A plan in force is drafted on, not replaced."""
    in_force = revision_in_force(request.scope.premises, timezone.now())

    def draft_it(form: AnswersForm, now: datetime) -> HttpResponse:
        if in_force is not None:
            draft, joined = cheese_draft_beside(scope=request.scope, in_force=in_force, at=now, **form.asked())
            messages.success(request, f"Your draft is ready: {in_force}, and one more cheese. {joined.summary}")
            return redirect("plan:workspace", draft.pk)
        drafted = plan_draft_from_answers(scope=request.scope, at=now, **form.asked())
        messages.success(
            request,
            "Your draft is ready. What was borrowed bears its source; what only you can judge is asked. "
            "Begin with the open questions.",
        )
        return redirect("plan:workspace", drafted.revision.pk)

    return _answered(request, draft_it, {"in_force": in_force})


@needs(Right.EDIT_PLAN)
def answers_add(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    """The same questions about one more cheese of a draft that is at hand."""
    revision = revision_here(request, revision_id)

    def add_it(form: AnswersForm, now: datetime) -> HttpResponse:
        joined = cheese_add_from_answers(scope=request.scope, revision=revision, at=now, **form.asked())
        messages.success(request, f"{joined.summary} What you had edited stays as it was.")
        return redirect("plan:workspace", revision.pk)

    return _answered(request, add_it, {"revision": revision})


def _answered(
    request: ScopedRequest, act: Callable[[AnswersForm, datetime], HttpResponse], context: dict[str, object]
) -> HttpResponse:
    now = timezone.now()
    library = library_ready(at=now)
    form = AnswersForm(request.POST or None, library=library, jurisdiction=request.scope.premises.jurisdiction)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            return act(form, now)
        except ActionError as error:
            status = refuse(form, error)
    context |= {"families": list(library.families.values()), "library": library}
    return render_form(request, "plan/answers.html", context, form=form, status=status)


@needs(Right.EDIT_PLAN)
def discard(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    """Asks first, and says what is put away."""
    work = workspace_here(request, revision_id)
    form, status = forms.Form(request.POST if request.method == "POST" else None), 0
    if request.method == "POST":
        try:
            actions.revision_discard(scope=request.scope, revision=work.revision, at=timezone.now())
        except ActionError as error:
            form.is_valid()
            status = refuse(form, error)
        else:
            messages.success(request, f"{work.revision} is discarded. It can be brought back from the plan's page.")
            return redirect("plan:plan")
    counts = [(line.section.title, line.count) for line in work.lines() if line.count]
    context: dict[str, object] = {"work": work, "revision": work.revision, "counts": counts}
    return render_form(request, "plan/discard.html", context, form=form, status=status)


@needs(Right.EDIT_PLAN)
@require_POST
def restore(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    revision = revision_here(request, revision_id)
    try:
        actions.revision_restore(scope=request.scope, revision=revision, at=timezone.now())
    except NotAllowed:
        raise
    except ActionError as error:
        messages.error(request, error.message)
        return redirect("plan:plan")
    messages.success(request, f"{revision} is back, as it was.")
    return redirect("plan:workspace", revision.pk)


@needs(Right.EDIT_PLAN)
def take_in(request: ScopedRequest) -> HttpResponse:
    """A draft of a plan file."""
    form, status = FileForm(request.POST or None, request.FILES or None), 0
    if request.method == "POST" and form.is_valid():
        sent = form.cleaned_data["file"]
        try:
            # One byte more than is taken tells that the file is too large, without reading all of it.
            draft = actions.plan_import(scope=request.scope, content=sent.read(MOST_BYTES + 1), at=timezone.now())
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{draft} was taken in from {sent.name}.")
            return redirect("plan:workspace", draft.pk)
    return render_form(request, "plan/take_in.html", {}, form=form, status=status)


@needs(Right.READ)
def export(request: ScopedRequest, revision_id: UUID) -> HttpResponse:
    """The whole revision as a JSON file."""
    revision = revision_here(request, revision_id)
    answer = HttpResponse(write_file(read_plan(revision)), content_type="application/json")
    answer["Content-Disposition"] = f'attachment; filename="plan-revision-{revision.number}.json"'
    return answer

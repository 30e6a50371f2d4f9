"""Ways to begin a draft: a copy, answers to questions, a file; and the file of a revision."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from haccp.plan import actions
from haccp.plan.document.file import MOST_BYTES, write_file
from haccp.plan.forms.answers import AnswersForm
from haccp.plan.forms.standing import CopyForm, FileForm
from haccp.plan.from_library import plan_draft_from_answers
from haccp.plan.library_store import library_ready
from haccp.plan.queries import revision_in_force
from haccp.plan.rows import read_plan
from haccp.plan.views.found import revision_here
from haccp.premises.errors import ActionError
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
    """A dozen questions, and a draft that is the producer's to edit."""
    now, premises = timezone.now(), request.scope.premises
    library = library_ready(at=now)
    form, status = AnswersForm(request.POST or None, library=library, jurisdiction=premises.jurisdiction), 0
    if request.method == "POST" and form.is_valid():
        try:
            drafted = plan_draft_from_answers(
                scope=request.scope,
                answers=form.answers(),
                product_name=form.cleaned_data["product_name"],
                product_code=form.cleaned_data["product_code"],
                at=now,
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(
                request,
                "Your draft is ready. What was borrowed bears its source; what only you can judge is asked. "
                "Begin with the open questions.",
            )
            return redirect("plan:workspace", drafted.revision.pk)
    context: dict[str, object] = {"families": list(library.families.values()), "library": library}
    return render_form(request, "plan/answers.html", context, form=form, status=status)


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

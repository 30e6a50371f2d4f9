"""Reviews of the plan in force: when the next is due, what makes one due, and what was found."""

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from haccp.plan import actions
from haccp.plan.actions.reviews import REVIEW_STATEMENT
from haccp.plan.findings import Severity
from haccp.plan.forms.standing import OccasionForm, ReviewForm
from haccp.plan.models import PlanReview, ReviewOccasion
from haccp.plan.queries import findings_of, review_due_of, revision_in_force
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
@require_GET
def review(request: ScopedRequest) -> HttpResponse:
    """When the next review is due, what earlier ones found, and the form of who may sign one."""
    return _page(request, ReviewForm(), OccasionForm(), 0)


@needs(Right.APPROVE_PLAN)
@require_POST
def review_record(request: ScopedRequest) -> HttpResponse:
    form, status = ReviewForm(request.POST), 0
    if form.is_valid():
        try:
            actions.review_record(scope=request.scope, at=timezone.now(), **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "The review is signed.")
            return redirect("plan:copy" if form.cleaned_data["change_needed"] else "plan:review")
    return _page(request, form, OccasionForm(), status)


@needs(Right.EDIT_PLAN)
@require_POST
def occasion(request: ScopedRequest) -> HttpResponse:
    """Something that makes the plan be reviewed before its time."""
    form, status = OccasionForm(request.POST), 0
    if form.is_valid():
        try:
            actions.review_occasion_record(scope=request.scope, at=timezone.now(), **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "Recorded; the plan is due for review.")
            return redirect("plan:review")
    return _page(request, ReviewForm(), form, status, shown=form)


def _page(
    request: ScopedRequest, form: ReviewForm, occasion: OccasionForm, status: int, shown: forms.Form | None = None
) -> HttpResponse:
    scope, now = request.scope, timezone.now()
    revision = revision_in_force(scope.premises, now)
    due = review_due_of(scope.premises, now)
    context: dict[str, object] = {
        "revision": revision,
        "due": due,
        "is_overdue": bool(due and due.is_overdue(scope.premises.local_date(now))),
        "findings": [
            one for one in (findings_of(revision, now) if revision else []) if one.severity is not Severity.NOTES
        ],
        "reviews": list(
            PlanReview.objects.filter(revision__premises=scope.premises).select_related("signature", "revision")
        ),
        "occasions": list(
            ReviewOccasion.objects.filter(premises=scope.premises)
            .select_related("recorded_by")
            .order_by("-occurred_at")
        ),
        "reviewing": form,
        "occasion": occasion,
        "statement": REVIEW_STATEMENT,
        "may_review": scope.may(Right.APPROVE_PLAN),
        "may_edit": scope.may(Right.EDIT_PLAN),
    }
    return render_form(request, "plan/review.html", context, form=shown or form, status=status)

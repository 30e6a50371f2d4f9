"""Pages about training: how everybody stands, and a training that was given."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.training import actions, queries
from haccp.training.forms import TrainingForm

PER_PAGE = 50


@needs(Right.READ)
def overview(request: ScopedRequest) -> HttpResponse:
    """Of everybody who works here what counts, what ends, and below it all that was ever given."""
    premises = request.scope.premises
    context = {
        "standings": queries.standings(premises, premises.local_date(timezone.now())),
        "page": Paginator(queries.trainings_of(premises), PER_PAGE).get_page(request.GET.get("page")),
        "may_record": request.scope.may(Right.RECORD),
    }
    return render(request, "training/overview.html", context)


@needs(Right.RECORD)
def given(request: ScopedRequest) -> HttpResponse:
    scope = request.scope
    form = TrainingForm(request.POST or None, scope=scope)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = dict(form.cleaned_data)
        try:
            training = actions.training_record(scope=scope, person_id=typed.pop("person").pk, **typed)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{training.person.name}, {training.subject}: saved.")
            return redirect("training:overview")
    context: dict[str, object] = {"subjects": queries.subjects_of(scope.premises)}
    return render_form(request, "training/given.html", context, form=form, status=status)

"""The release of a batch: the gate with the form that signs it."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from batches.making.queries import makes_of
from batches.release import actions
from batches.release.forms import ReleaseForm
from batches.release.panel import release_panel
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.RELEASE)
def release(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    """A refused release comes back with what the gate shows now."""
    make = get_object_or_404(makes_of(request.scope.premises), pk=lot_id)
    form = ReleaseForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            actions.batch_release(
                scope=request.scope,
                release_id=typed["release_id"],
                lot_id=make.pk,
                password=typed["password"],
                seen_sha256=typed["seen_sha256"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{make.lot.code} is released.")
            return redirect("making:batch", make.pk)
    panel = release_panel(request, make, timezone.now(), refused=form)
    return render_form(request, "release/release.html", {"make": make, "panel": panel.data}, form=form, status=status)

"""A batch in progress put under the revision in force, with the reason."""

from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.checks import actions
from haccp.lots.models import Lot
from haccp.lots.queries import batches_touched
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


class MoveForm(forms.Form):
    """revision: the one that the page spoke of, so that another approved meanwhile is not taken unseen."""

    revision = forms.UUIDField(widget=forms.HiddenInput)
    reason = forms.CharField(
        label=_("Why it is moved"),
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": _("Say why the batch is moved.")},
    )


@needs(Right.APPROVE_PLAN)
def revision_move(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    scope, now = request.scope, timezone.now()
    lot = Lot.objects.for_premises(scope.premises).select_related("product").filter(pk=lot_id).first()
    if lot is None:
        raise Http404
    in_force = revision_in_force(scope.premises, now)
    form, status = MoveForm(request.POST or None, initial={"revision": in_force.pk if in_force else None}), 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            actions.batch_move_to_revision(
                scope=scope, lot_id=lot.pk, revision_id=typed["revision"], reason=typed["reason"], now=now
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{lot.code} stands under {in_force} now.")
            return redirect("plan:batches", typed["revision"])
    touched = batches_touched(in_force) if in_force else []
    context: dict[str, object] = {
        "lot": lot,
        "in_force": in_force,
        "touched": next((one for one in touched if one.lot.pk == lot.pk), None),
    }
    return render_form(request, "checks/revision_move.html", context, form=form, status=status)

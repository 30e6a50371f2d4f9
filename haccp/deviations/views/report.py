"""A deviation that a person reports."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from haccp.deviations import actions
from haccp.deviations.forms import LATEST_LOTS, ReportForm
from haccp.lots.models import Lot
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError
from haccp.premises.models import Premises
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.RECORD)
def report(request: ScopedRequest) -> HttpResponse:
    """?lot= names a lot that the page the person came from was about."""
    scope = request.scope
    asked = _lot_id(request.GET.get("lot", ""))
    form = ReportForm(
        request.POST or None,
        revision=revision_in_force(scope.premises, timezone.now()),
        lots=Lot.objects.filter(pk__in=_offered(scope.premises, asked)).select_related("product"),
        chosen=asked,
    )
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            deviation = actions.deviation_report(
                scope=scope,
                deviation_id=typed["deviation_id"],
                control_point_id=typed["control_point"].pk,
                summary=typed["summary"],
                occurred_at=typed["occurred_at"],
                lot_ids=[lot.pk for lot in typed["lots"]],
                is_complaint=typed["is_complaint"],
                origin_unknown=typed["origin_unknown"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            return redirect("deviations:detail", deviation.pk)
    return render_form(request, "deviations/report.html", {}, form=form, status=status)


def _lot_id(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None


def _offered(premises: Premises, asked: UUID | None) -> list[UUID]:
    lots = Lot.objects.for_premises(premises)
    latest = list(lots.values_list("pk", flat=True)[:LATEST_LOTS])
    if asked is None:
        return latest
    return latest + list(lots.filter(pk=asked).exclude(pk__in=latest).values_list("pk", flat=True))

"""Pages of a recall: the list, the clock, the lot, whom to call, and the end; exports of the traceability records."""

from datetime import date, timedelta
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from batches.recall import actions, queries
from batches.recall.export.epcis import epcis_document
from batches.recall.export.key_data import key_data
from batches.recall.export.spreadsheet import spreadsheet
from batches.recall.findings import findings
from batches.recall.forms import ChooseForm, FinishForm, PeriodForm, StartForm
from batches.recall.models import RecallMark
from batches.recall.queries import Course, course_of
from haccp.lots.models import Lot
from haccp.lots.queries import lots_of
from haccp.premises.errors import ActionError, NotAllowed
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

OFFERED = 30
EXPORTED_DAYS = timedelta(days=90)
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@needs(Right.READ)
def recall_list(request: ScopedRequest) -> HttpResponse:
    premises = request.scope.premises
    today = premises.local_date(timezone.now())
    context = {
        "courses": [course_of(one) for one in queries.recalls_of(premises)[:50]],
        "next_due": queries.next_due(premises),
        "today": today,
        "may_record": request.scope.may(Right.RECORD),
        "period": PeriodForm(initial={"period_from": today - EXPORTED_DAYS, "period_to": today}),
    }
    return render(request, "recall/list.html", context)


@needs(Right.RECORD)
def start(request: ScopedRequest) -> HttpResponse:
    """?lot= and ?reach= are carried on to the choice of the lot."""
    form = StartForm(request.POST or None)
    asked, reach = request.GET.get("lot", ""), request.GET.get("reach", "")
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            made = actions.recall_start(
                scope=request.scope,
                recall_id=typed["request_id"],
                kind=typed["kind"],
                reason=typed["reason"],
                repeat_after_days=typed["repeat_after_days"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            lot = _lot_id(asked)
            onward = redirect("recall:recall", made.pk)
            if lot:
                onward["Location"] += f"?lot={lot}" + (f"&reach={reach}" if reach in RecallMark.Reach.values else "")
            return onward
    return render_form(request, "recall/start.html", {"asked": asked}, form=form, status=status)


@needs(Right.READ)
def recall(request: ScopedRequest, recall_id: UUID) -> HttpResponse:
    """Before a lot is chosen: the lots, ?q= part of a code. After: what it reaches and whom to call."""
    course = _found(request, recall_id)
    if course.chosen is None:
        return _choosing(request, course)
    return _page(request, course, FinishForm())


@needs(Right.RECORD)
@require_POST
def reached(request: ScopedRequest, recall_id: UUID, customer_id: UUID) -> HttpResponse:
    course = _found(request, recall_id)
    try:
        actions.recall_reach(
            scope=request.scope,
            recall_id=course.recall.pk,
            mark_id=uuid4(),
            customer_id=customer_id,
            note=request.POST.get("note", ""),
        )
    except NotAllowed:
        raise
    except ActionError as error:
        messages.error(request, error.message)
    return redirect("recall:recall", course.recall.pk)


@needs(Right.RECORD)
@require_POST
def finish(request: ScopedRequest, recall_id: UUID) -> HttpResponse:
    course = _found(request, recall_id)
    form = FinishForm(request.POST)
    status = 0
    if form.is_valid():
        typed = form.cleaned_data
        try:
            actions.recall_finish(
                scope=request.scope, recall_id=course.recall.pk, mark_id=typed["request_id"], note=typed["note"]
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "The clock is stopped, and the recall is recorded.")
            return redirect("recall:recall", course.recall.pk)
    if course.chosen is None:
        return _choosing(request, course, status=status or 422)
    return _page(request, course, form, status=status)


@needs(Right.READ)
def key_data_sheet(request: ScopedRequest) -> HttpResponse:
    """?period_from=&period_to= : the records of those days as a spreadsheet; the last 90 days where none are given."""
    first, last = _period(request)
    made = spreadsheet(key_data(request.scope.premises, first, last))
    answer = HttpResponse(made, content_type=XLSX)
    answer["Content-Disposition"] = f'attachment; filename="traceability-{first}-{last}.xlsx"'
    return answer


@needs(Right.READ, to_write=Right.RECORD)
def epcis(request: ScopedRequest) -> HttpResponse:
    """The same records as EPCIS 2.0 events."""
    first, last = _period(request)
    site = request.build_absolute_uri("/").rstrip("/")
    document = epcis_document(request.scope.premises, first, last, site=site, made_at=timezone.now())
    answer = JsonResponse(document, json_dumps_params={"indent": 1, "ensure_ascii": False})
    answer["Content-Type"] = "application/ld+json"
    answer["Content-Disposition"] = f'attachment; filename="traceability-{first}-{last}.jsonld"'
    return answer


def _period(request: ScopedRequest) -> tuple[date, date]:
    today = request.scope.premises.local_date(timezone.now())
    form = PeriodForm(request.GET)
    if form.is_valid():
        return form.cleaned_data["period_from"], form.cleaned_data["period_to"]
    return today - EXPORTED_DAYS, today


def _found(request: ScopedRequest, recall_id: UUID) -> Course:
    return course_of(get_object_or_404(queries.recalls_of(request.scope.premises), pk=recall_id))


def _lot_id(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None


def _choosing(request: ScopedRequest, course: Course, *, status: int = 0) -> HttpResponse:
    scope = request.scope
    reach = request.GET.get("reach") or RecallMark.Reach.FORWARD
    asked, lot_id = request.GET.get("q", "").strip(), _lot_id(request.GET.get("lot", ""))
    lots = lots_of(scope.premises).order_by("-begun_at", "code")
    if asked:
        lots = lots.filter(code__icontains=asked)
    if lot_id:
        lots = lots.filter(pk=lot_id)
    shown = list(lots[:OFFERED])
    # What is posted is checked against all lots of the dairy, whatever was searched for.
    offered = Lot.objects.for_premises(scope.premises)
    form = ChooseForm(
        request.POST if request.method == "POST" else None, lots=offered, initial={"lot": lot_id, "reach": reach}
    )
    if request.method == "POST" and "reach" in request.POST and form.is_valid():
        typed = form.cleaned_data
        try:
            actions.recall_choose(
                scope=scope,
                recall_id=course.recall.pk,
                mark_id=typed["request_id"],
                lot_id=typed["lot"].pk,
                reach=typed["reach"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            return redirect("recall:recall", course.recall.pk)
    context: dict[str, object] = {
        "course": course,
        "lots": shown,
        "asked": asked,
        "chosen": str(form["lot"].value() or ""),
        "may_record": scope.may(Right.RECORD),
    }
    return render_form(request, "recall/choose.html", context, form=form, status=status)


def _page(request: ScopedRequest, course: Course, form: FinishForm, *, status: int = 0) -> HttpResponse:
    chosen = course.chosen
    assert chosen is not None
    assert chosen.lot is not None
    context: dict[str, object] = {
        "course": course,
        "chosen": chosen,
        "found": findings(request.scope.premises, chosen.lot, chosen.reach, chosen.at),
        "may_record": request.scope.may(Right.RECORD),
    }
    return render_form(request, "recall/recall.html", context, form=form, status=status)

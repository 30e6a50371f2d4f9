"""Pages of the laboratory: samples, one sample, its results, and how a parameter goes over time."""

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from batches.laboratory import actions, pictures, queries
from batches.laboratory.criteria import criteria_for, plan_words
from batches.laboratory.forms import ResultForm, SampleForm
from batches.laboratory.models import SampleTest, newest
from haccp.lots.models import Hold, Lot
from haccp.plan.library_store import library_ready
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

PER_PAGE = 40
PARTS = (("awaited", "Awaited"), ("all", "All"))


@needs(Right.READ)
def sample_list(request: ScopedRequest) -> HttpResponse:
    premises = request.scope.premises
    part = "all" if request.GET.get("part") == "all" else "awaited"
    found = queries.samples_of(premises) if part == "all" else queries.open_samples(premises)
    page = Paginator(found, PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "page": page,
        "samples": [(sample, queries.lines_of(sample)) for sample in page],
        "part": part,
        "parts": PARTS,
        "parameters": queries.parameters_of(premises),
        "may_record": request.scope.may(Right.RECORD),
    }
    return render(request, "laboratory/list.html", context)


@needs(Right.RECORD)
def sample_new(request: ScopedRequest) -> HttpResponse:
    """?lot= names the lot, whose criteria are offered; ?place= a place."""
    scope, now = request.scope, timezone.now()
    lot = _lot_named(request)
    library_ready(at=now)
    criteria = criteria_for(scope.premises, lot, scope.premises.local_date(now))
    form = SampleForm(
        request.POST or None,
        premises=scope.premises,
        revision=revision_in_force(scope.premises, now),
        criteria=criteria,
        temperature_unit=scope.user.temperature_unit,
        initial={"lot": lot.pk if lot else None, "place": request.GET.get("place") or None},
    )
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            sample = actions.sample_take(
                scope=scope,
                sample_id=typed["sample_id"],
                laboratory=typed["laboratory"],
                tests=form.tests(),
                taken_at=typed["taken_at"],
                lot_id=typed["lot"].pk if typed["lot"] else None,
                place_id=typed["place"].pk if typed["place"] else None,
                verifies_id=typed["verifies"].pk if typed["verifies"] else None,
                spot=typed["spot"],
                sent_at=typed["sent_at"],
                temperature=typed["temperature"],
                temperature_unit=typed["temperature_unit"],
                note=typed["note"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"Sample {sample.code} is recorded: write this on it.")
            return redirect("laboratory:sample", sample.pk)
    context: dict[str, object] = {"lot": lot, "laboratories": queries.laboratories_of(scope.premises)}
    return render_form(request, "laboratory/new.html", context, form=form, status=status)


def _lot_named(request: ScopedRequest) -> Lot | None:
    """By the form, or by the address."""
    try:
        lot_id = UUID(request.POST.get("lot") or request.GET.get("lot") or "")
    except ValueError:
        return None
    return Lot.objects.for_premises(request.scope.premises).filter(pk=lot_id).select_related("product").first()


@needs(Right.READ)
def sample(request: ScopedRequest, sample_id: UUID) -> HttpResponse:
    found = get_object_or_404(queries.samples_of(request.scope.premises), pk=sample_id)
    lines = queries.lines_of(found)
    context = {
        "sample": found,
        "lines": [(line, plan_words_of(line.test), pictures.operating_curve(line.test)) for line in lines],
        "may_record": request.scope.may(Right.RECORD),
    }
    return render(request, "laboratory/sample.html", context)


def plan_words_of(test: SampleTest) -> str:
    if test.kind == SampleTest.Kind.QUANTITY:
        return ""
    return plan_words(test.n, test.c, test.m, test.largest, test.unit, test.absent_in)


@needs(Right.RECORD)
def result(request: ScopedRequest, test_id: UUID) -> HttpResponse:
    """Enters, completes or corrects the result of one test."""
    scope = request.scope
    test = get_object_or_404(
        SampleTest.objects.filter(sample__premises=scope.premises)
        .select_related("sample__lot", "sample__place")
        .prefetch_related("results"),
        pk=test_id,
    )
    earlier = newest(list(test.results.all()))
    form = ResultForm(request.POST or None, test=test, earlier=earlier)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            saved = actions.result_enter(
                scope=scope,
                result_id=typed["result_id"],
                test_id=test.pk,
                values=form.values(),
                reported_at=typed["reported_at"],
                method=typed["method"],
                report_number=typed["report_number"],
                replaces_id=form.replaces(),
                replace_reason=typed.get("replace_reason", ""),
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            said = f"{test.parameter}: saved."
            if saved.deviation is not None:
                held = Hold.objects.filter(cause=saved.deviation.hold_cause).exists()
                said += f" {saved.deviation.reference} is open{', and what it implicates is on hold' if held else ''}."
            messages.success(request, said)
            return redirect("laboratory:sample", test.sample_id)
    context: dict[str, object] = {
        "test": test,
        "earlier": earlier,
        "name": queries.name_of(test.kind, test.parameter),
        "plan_words": plan_words_of(test),
    }
    return render_form(request, "laboratory/result.html", context, form=form, status=status)


@needs(Right.READ)
def trend(request: ScopedRequest) -> HttpResponse:
    """?parameter= names what is drawn."""
    premises = request.scope.premises
    parameters = queries.parameters_of(premises)
    asked = request.GET.get("parameter", "")
    names = dict(parameters)
    parameter = asked if asked in names else next(iter(names), "")
    points = queries.trend_of(premises, parameter) if parameter else []
    context = {
        "parameters": parameters,
        "parameter": parameter,
        "name": names.get(parameter, ""),
        "points": points[::-1],
        "trend": pictures.trend(premises, parameter, points) if points else None,
    }
    return render(request, "laboratory/trend.html", context)

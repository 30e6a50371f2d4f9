"""Single papers, made at once and shown in the browser."""

from datetime import date
from uuid import UUID

from django.http import FileResponse, Http404, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.text import slugify
from django.views.decorators.http import require_GET

from haccp.calibration.models import Calibration
from haccp.plan.models import PlanRevision
from haccp.plan.queries import checks_of, revision_in_force
from haccp.premises.errors import ActionError
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.reports import papers, queries
from haccp.reports.forms import DaysForm
from haccp.reports.gather.blank_forms import form_sheets
from haccp.reports.gather.reader_units import ReaderUnits
from haccp.reports.languages import DEFAULT, LANGUAGES
from haccp.reports.layout import blank_forms as blank_layout
from haccp.reports.layout import certificate, plan_alone
from haccp.reports.papers import Paper
from haccp.reports.signing import signed
from haccp.reports.views.packs import site_of

PDF = "application/pdf"


@needs(Right.READ)
@require_GET
def listing(request: ScopedRequest) -> HttpResponse:
    """Every single paper there is, with the way to it."""
    premises, now = request.scope.premises, timezone.now()
    today = premises.local_date(now)
    revision = revision_in_force(premises, now)
    checks = checks_of(revision) if revision else []
    first, last = queries.usual_period(today)
    context = {
        "revision": revision,
        "checks": sorted(checks, key=lambda check: (not check.control_point.is_critical, check.name)),
        "today": today,
        "language": _language(request),
        "languages": LANGUAGES,
        "form": DaysForm(initial={"period_from": first, "period_to": last}),
    }
    return render(request, "reports/papers.html", context)


@needs(Right.READ)
@require_GET
def batch(request: ScopedRequest, lot_id: UUID) -> HttpResponseBase:
    """One batch from its milk to today."""
    try:
        paper = papers.batch_paper(request.scope.premises, lot_id, site_of(request), _today(request))
    except ActionError:
        raise Http404("There is no such batch here.") from None
    return _answer(request, paper)


@needs(Right.READ)
@require_GET
def deviation(request: ScopedRequest, deviation_id: UUID) -> HttpResponseBase:
    """One deviation with all that was done about it."""
    try:
        paper = papers.deviation_paper(request.scope.premises, deviation_id, site_of(request), _today(request))
    except ActionError:
        raise Http404("There is no such deviation here.") from None
    return _answer(request, paper)


@needs(Right.READ)
@require_GET
def day(request: ScopedRequest, day: date) -> HttpResponseBase:
    """One day of the day book."""
    if day > _today(request):
        raise Http404("That day has not come.")
    return _answer(request, papers.day_paper(day, site_of(request)))


@needs(Right.READ)
@require_GET
def cleaning(request: ScopedRequest) -> HttpResponseBase:
    """The cleaning log of some days; of the last thirty unless others are named."""
    first, last = queries.usual_period(_today(request))
    form = DaysForm(request.GET if "period_from" in request.GET else {"period_from": first, "period_to": last})
    if not form.is_valid():
        return render(request, "reports/papers.html", {"form": form, "only_form": True}, status=422)
    days = form.cleaned_data
    return _answer(request, papers.cleaning_paper(days["period_from"], days["period_to"]))


@needs(Right.READ)
@require_GET
def plan(request: ScopedRequest, revision_id: UUID, sheet: str) -> HttpResponse:
    """One revision of the plan, or its sheet of critical control points, or its hazard worksheet."""
    if sheet not in plan_alone.SHEETS:
        raise Http404("There is no such sheet of a plan.")
    revisions = PlanRevision.objects.for_premises(request.scope.premises).select_related("premises", "approval")
    revision = get_object_or_404(revisions, pk=revision_id)
    until = None
    if revision.effective_from is not None:
        later = (
            revisions.approved()
            .filter(effective_from__gt=revision.effective_from, effective_from__lte=timezone.now())
            .order_by("effective_from")
        )
        until = later.values_list("effective_from", flat=True).first()
    with translation.override(_language(request)):
        content = plan_alone.plan_pdf(revision, sheet, until=until, made_at=timezone.now())
    return _inline(
        signed(content, premises=request.scope.premises.name),
        f"plan-revision-{revision.number}{'' if sheet == 'all' else f'-{sheet}'}",
    )


@needs(Right.READ)
@require_GET
def forms(request: ScopedRequest, check_id: UUID | None = None) -> HttpResponse:
    """Blank forms of every check of the plan in force, or of one."""
    now = timezone.now()
    revision = revision_in_force(request.scope.premises, now)
    if revision is None:
        raise Http404("No plan is in force.")
    found = form_sheets(revision, check_id)
    if check_id is not None and not found:
        raise Http404("The plan in force has no such check.")
    content = blank_layout.blank_forms_pdf(revision, found, site=site_of(request), made_at=now)
    return _inline(
        signed(content, premises=request.scope.premises.name), slugify(found[0].check)[:60] if check_id else "forms"
    )


@needs(Right.READ)
@require_GET
def calibration(request: ScopedRequest, calibration_id: UUID) -> HttpResponse:
    """One calibration, as found and as left."""
    rows = Calibration.objects.filter(premises=request.scope.premises)
    found = get_object_or_404(rows.select_related("premises", "instrument__place", "recorded_by"), pk=calibration_id)
    address = site_of(request) + reverse("calibration:calibration", args=[found.pk])
    units = ReaderUnits.of(request.scope.user)
    with translation.override(_language(request)):
        content = certificate.certificate_pdf(found, units, address=address, made_at=timezone.now())
    day = request.scope.premises.local_date(found.performed_at)
    return _inline(
        signed(content, premises=request.scope.premises.name),
        slugify(f"calibration {found.instrument.name} {day}")[:80],
    )


def _answer(request: ScopedRequest, paper: Paper) -> HttpResponseBase:
    made = papers.made(
        paper, scope=request.scope, site=site_of(request), now=timezone.now(), language=_language(request)
    )
    name = slugify(f"{paper.kind.title} {paper.about} {paper.first_day} {paper.last_day}")[:100]
    answer = FileResponse(made, filename=f"{name}.pdf", content_type=PDF)
    answer.headers["Cache-Control"] = "private, no-store"
    answer.headers["X-Content-Type-Options"] = "nosniff"
    return answer


def _inline(content: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(content, content_type=PDF)
    answer["Content-Disposition"] = f'inline; filename="{name or "paper"}.pdf"'
    answer["Cache-Control"] = "private, no-store"
    return answer


def _language(request: ScopedRequest) -> str:
    """?language=fr; the default for anything else."""
    wanted = request.GET.get("language", DEFAULT)
    return wanted if wanted in dict(LANGUAGES) else DEFAULT


def _today(request: ScopedRequest) -> date:
    return request.scope.premises.local_date(timezone.now())

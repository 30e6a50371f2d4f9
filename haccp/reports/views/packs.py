"""Visit packs: ask for one, watch it being made, open it."""

from uuid import UUID, uuid4

from django.contrib import messages
from django.core.files.storage import default_storage
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from haccp.lots.models import Lot
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.reports import actions, queries
from haccp.reports.forms import PackForm
from haccp.reports.gather.choice import Choice
from haccp.reports.models import VisitPack

PACKS_LISTED = 50
# How often the page looks again where no script runs.
LOOK_AGAIN_S = 4


@needs(Right.READ)
def packs(request: ScopedRequest) -> HttpResponse:
    """The form and the packs there are, latest first."""
    premises = request.scope.premises
    first, last = queries.usual_period(premises.local_date(timezone.now()))
    initial = {"pack_id": uuid4(), "period_from": first, "period_to": last}
    form = PackForm(request.POST or None, initial=initial, premises=premises)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            pack = actions.pack_request(scope=request.scope, site=site_of(request), **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            return redirect("reports:pack", pack_id=pack.id)
    context: dict[str, object] = {"packs": queries.packs_of(premises)[:PACKS_LISTED]}
    return render_form(request, "reports/packs.html", context, form=form, status=status)


@needs(Right.READ)
@never_cache
def pack(request: ScopedRequest, pack_id: UUID) -> HttpResponse:
    """One pack: how far it has come, or what it holds."""
    found = _pack(request, pack_id)
    context = {
        "pack": found,
        "progress": queries.progress_of(found),
        "contents": [(name, count) for name, count in found.contents.items() if name != "records"],
        "again": _again(found),
        "look_again_s": LOOK_AGAIN_S,
    }
    return render(request, "reports/pack.html", context)


def _again(pack: VisitPack) -> list[tuple[str, str]]:
    """The hidden fields that ask for the same part of the records once more."""
    choice = Choice.from_json(pack.choice)
    codes = Lot.objects.filter(id__in=choice.batches).order_by("code").values_list("code", flat=True)
    kept = {
        "pack_id": str(uuid4()),
        "period_from": pack.period_from.isoformat(),
        "period_to": pack.period_to.isoformat(),
        "point": choice.point,
        "batches": " ".join(codes),
        "deviation": str(choice.deviation or ""),
        "recall": str(choice.recall or ""),
        "language": pack.language,
    }
    return [*((name, value) for name, value in kept.items() if value), *(("products", str(p)) for p in choice.products)]


def site_of(request: HttpRequest) -> str:
    """The address under which this service was reached, which the QR codes of a paper lead back to."""
    return request.build_absolute_uri("/").rstrip("/")


@needs(Right.READ)
@never_cache
@require_GET
def progress(request: ScopedRequest, pack_id: UUID) -> JsonResponse:
    """How far the making has come, for the bar that looks once a second."""
    found = queries.progress_of(_pack(request, pack_id))
    return JsonResponse(
        {
            "state": found.state,
            "stage": found.stage,
            "done": found.done,
            "total": found.total,
            "percent": found.percent,
        }
    )


@needs(Right.READ)
@require_POST
def cancel(request: ScopedRequest, pack_id: UUID) -> HttpResponse:
    _pack(request, pack_id)
    try:
        actions.pack_cancel(scope=request.scope, pack_id=pack_id)
    except ActionError as error:
        messages.error(request, error.message)
    else:
        messages.success(request, "This pack will not be made.")
    return redirect("reports:pack", pack_id=pack_id)


@needs(Right.READ)
@require_GET
def file(request: ScopedRequest, pack_id: UUID) -> HttpResponseBase:
    """The finished PDF; ?save=1 offers it as a download."""
    return file_answer(_pack(request, pack_id), as_attachment="save" in request.GET)


def file_answer(pack: VisitPack, *, as_attachment: bool) -> HttpResponseBase:
    """Streams the file. Raises Http404 for a pack that is not finished or whose file is gone."""
    name = pack.file.name
    if not pack.is_finished or not name or not default_storage.exists(name):
        raise Http404("This pack has no file.")
    answer = FileResponse(
        default_storage.open(name),
        as_attachment=as_attachment,
        filename=file_name(pack),
        content_type="application/pdf",
    )
    answer.headers["Cache-Control"] = "private, no-store"
    answer.headers["X-Content-Type-Options"] = "nosniff"
    answer.headers["ETag"] = f'"{pack.sha256}"'
    return answer


def file_name(pack: VisitPack) -> str:
    """Such as weir-farm-dairy-2026-03-01-to-2026-03-30.pdf."""
    name = slugify(pack.premises.name) or "dairy"
    part = slugify(pack.choice_words)[:60]
    return f"{name[:60]}-{f'{part}-' if part else ''}{pack.period_from.isoformat()}-to-{pack.period_to.isoformat()}.pdf"


def _pack(request: ScopedRequest, pack_id: UUID) -> VisitPack:
    return get_object_or_404(queries.packs_of(request.scope.premises), pk=pack_id)

"""How long records are kept, and everything of a premises to take away."""

from uuid import UUID, uuid4

from django.contrib import messages
from django.core.files.storage import default_storage
from django.http import FileResponse, Http404, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.text import slugify
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from haccp.keeping import actions, retention
from haccp.keeping.models import PremisesExport
from haccp.plan.models import KeptDocument, PlanRevision
from haccp.premises.errors import ActionError
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

LISTED = 10
LOOK_AGAIN_S = 4


@needs(Right.READ, to_write=Right.MANAGE)
@never_cache
def keeping(request: ScopedRequest) -> HttpResponse:
    """What the law and the plan say of keeping; the owner asks for an export here."""
    premises = request.scope.premises
    if request.method == "POST":
        try:
            actions.export_request(scope=request.scope, export_id=_id_of(request.POST.get("export_id", "")))
        except ActionError as error:
            messages.error(request, error.message)
        return redirect("keeping:keeping")
    revision = PlanRevision.objects.for_premises(premises).approved().order_by("-effective_from").first()
    exports = PremisesExport.objects.filter(premises=premises).select_related("requested_by")[:LISTED]
    may_export = request.scope.may(Right.MANAGE)
    context = {
        "kinds": retention.kinds_in(premises.jurisdiction),
        "documents": KeptDocument.objects.filter(revision=revision, kind="record", retention_days__isnull=False),
        "revision": revision,
        "exports": exports if may_export else [],
        "may_export": may_export,
        "export_id": uuid4(),
        "is_making": any(one.finished_at is None and one.failed_at is None for one in exports),
        "look_again_s": LOOK_AGAIN_S,
    }
    return render(request, "keeping/keeping.html", context)


@needs(Right.MANAGE)
@require_GET
def export_file(request: ScopedRequest, export_id: UUID) -> HttpResponseBase:
    """The finished archive, always as a download."""
    export = get_object_or_404(PremisesExport, pk=export_id, premises=request.scope.premises)
    name = export.file.name
    if export.finished_at is None or not name or not default_storage.exists(name):
        raise Http404("This export has no file.")
    day = request.scope.premises.local_date(export.requested_at)
    answer = FileResponse(
        default_storage.open(name),
        as_attachment=True,
        filename=f"{slugify(request.scope.premises.name)[:60] or 'dairy'}-{day.isoformat()}.zip",
        content_type="application/zip",
    )
    answer.headers["Cache-Control"] = "private, no-store"
    answer.headers["X-Content-Type-Options"] = "nosniff"
    return answer


def _id_of(text: str) -> UUID:
    """The form's id, which makes a double tap one export; a new one where a form came without."""
    try:
        return UUID(text)
    except ValueError:
        return uuid4()

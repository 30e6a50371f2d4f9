"""Care of a batch or of a whole room, weights, and how often each cheese is looked after."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from batches.ripening import actions, queries
from batches.ripening.forms import CareForm, RhythmForm, WeighForm
from batches.ripening.models import CareKind, CareRhythm
from batches.ripening.weights import weights_of
from haccp.lots.queries import lots_of
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.RECORD)
@require_POST
def care_for_room(request: ScopedRequest, place_id: UUID) -> HttpResponse:
    """One tap for every batch in the room."""
    place = get_object_or_404(queries.rooms_of(request.scope.premises), pk=place_id)
    return _care(request, place.name, redirect("ripening:room", place.pk), room_id=place.pk, lot_ids=())


@needs(Right.RECORD)
@require_POST
def care_for_batch(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    lot = get_object_or_404(lots_of(request.scope.premises).batches(), pk=lot_id)
    return _care(request, lot.code, redirect("making:batch", lot.pk), room_id=None, lot_ids=(lot.pk,))


def _care(
    request: ScopedRequest, about: str, back: HttpResponse, *, room_id: UUID | None, lot_ids: tuple[UUID, ...]
) -> HttpResponse:
    form = CareForm(request.POST)
    status = 0
    if form.is_valid():
        typed = form.cleaned_data
        try:
            care = actions.care_give(
                scope=request.scope,
                care_id=typed["care_id"],
                kind=typed["kind"],
                done_at=typed["done_at"],
                lot_ids=lot_ids,
                room_id=room_id,
                note=typed["note"],
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            count = care.lots.count()
            batches = f", {count} batch{'es' if count != 1 else ''}" if room_id else ""
            messages.success(request, f"{about}{batches}: {CareKind(care.kind).label}, saved.")
            return back
    return render_form(
        request, "ripening/care.html", {"about": about, "back": back["Location"]}, form=form, status=status
    )


@needs(Right.RECORD)
def weigh(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    scope = request.scope
    lot = get_object_or_404(lots_of(scope.premises).batches(), pk=lot_id)
    form = WeighForm(request.POST or None, scope=scope, lot=lot)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            actions.weigh(
                scope=scope,
                weighing_id=typed["weighing_id"],
                lot_id=lot.pk,
                mass=typed["mass"],
                unit=typed["unit"],
                weighed_at=typed["weighed_at"],
                pieces=typed["pieces"],
                instrument_id=typed["instrument"].pk if typed["instrument"] else None,
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{lot.code} is weighed: saved.")
            return redirect("making:batch", lot.pk)
    context: dict[str, object] = {"lot": lot, "weights": weights_of(lot.pk)}
    return render_form(request, "ripening/weigh.html", context, form=form, status=status)


@needs(Right.MANAGE)
def rhythms(request: ScopedRequest) -> HttpResponse:
    """How often each cheese needs which care."""
    scope = request.scope
    form = RhythmForm(request.POST or None, premises=scope.premises)
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            actions.rhythm_set(
                scope=scope, product_id=typed["product"].pk, kind=typed["kind"], every_days=typed["every_days"]
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{typed['product'].name}: saved.")
            return redirect("ripening:rhythms")
    kept = CareRhythm.objects.filter(product__premises=scope.premises).select_related("product")
    if status or form.is_bound:
        return render_form(request, "ripening/rhythms.html", {"rhythms": kept}, form=form, status=status)
    return render(request, "ripening/rhythms.html", {"rhythms": kept, "form": form})

"""Labels: printed for batches, rooms and instruments; scanned, they open their page."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from batches.stock import actions, queries
from batches.stock.forms import PartyNumberForm, TradeNumberForm
from batches.stock.labels.content import Label, batch_labels
from batches.stock.labels.content import instrument_label as label_of_instrument
from batches.stock.labels.content import place_label as label_of_place
from batches.stock.labels.draw import labels_pdf
from batches.stock.labels.resolve import resolve
from batches.stock.models import PartyNumber, TradeNumber
from haccp.lots.models import Lot
from haccp.lots.queries import lots_of
from haccp.premises.errors import ActionError
from haccp.premises.models import Instrument, Place
from haccp.premises.queries import instruments_of, places_of
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def label_list(request: ScopedRequest) -> HttpResponse:
    """Rooms and instruments to print labels for, and the numbers that labels carry."""
    premises = request.scope.premises
    context = {
        "places": places_of(premises),
        "instruments": instruments_of(premises),
        "trade_numbers": TradeNumber.objects.filter(product__premises=premises).select_related("product"),
        "party_number": PartyNumber.objects.filter(premises=premises).first(),
        "may_manage": request.scope.may(Right.MANAGE),
    }
    return render(request, "stock/labels.html", context)


@needs(Right.MANAGE)
def numbers(request: ScopedRequest) -> HttpResponse:
    """The GTIN of a cheese, or the GLN of the premises, whichever form was sent."""
    scope = request.scope
    of_product = "product" in request.POST
    trade = TradeNumberForm(request.POST if of_product else None, premises=scope.premises)
    party = PartyNumberForm(request.POST if request.POST and not of_product else None)
    form: TradeNumberForm | PartyNumberForm = trade if of_product else party
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            if of_product:
                actions.trade_number_set(scope=scope, product_id=typed["product"].pk, gtin=typed["gtin"])
            else:
                actions.party_number_set(scope=scope, **typed)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "Saved. Labels printed from now on carry it.")
            return redirect("stock:labels")
    return render_form(request, "stock/numbers.html", {"trade": trade, "party": party}, form=form, status=status)


@needs(Right.READ)
def batch_label(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    """Of a batch, or of milk, ingredients and cheese that came in; ?pieces=all prints one for each piece in stock."""
    premises = request.scope.premises
    lots = lots_of(premises).select_related("product", "arrived", "ingredient")
    lot = get_object_or_404(lots, pk=lot_id)
    pieces = request.GET.get("pieces") == "all"
    items = list(queries.items_of(premises, only_here=True).filter(lot=lot)) if pieces else []
    return _pdf(batch_labels(premises, lot, items, _site(request)), lot.code)


@needs(Right.READ)
def place_label(request: ScopedRequest, place_id: UUID) -> HttpResponse:
    premises = request.scope.premises
    place = get_object_or_404(places_of(premises), pk=place_id)
    return _pdf([label_of_place(premises, place, _site(request))], place.name)


@needs(Right.READ)
def instrument_label(request: ScopedRequest, instrument_id: UUID) -> HttpResponse:
    premises = request.scope.premises
    instrument = get_object_or_404(Instrument.objects.filter(premises=premises), pk=instrument_id)
    return _pdf([label_of_instrument(premises, instrument, _site(request))], instrument.name)


@needs(Right.READ)
def scanned(request: ScopedRequest, rest: str) -> HttpResponse:
    """Where the code of a label leads: the page of what it names, if this dairy has it."""
    found = resolve(request.scope.premises, request.build_absolute_uri(), rest)
    if isinstance(found, Lot):
        return redirect("making:batch" if found.kind == Lot.Kind.BATCH else "tracing:trace", found.pk)
    if isinstance(found, Place):
        in_room = found.kind in (Place.Kind.RIPENING_ROOM, Place.Kind.COLD_STORE)
        return redirect("ripening:room", found.pk) if in_room else redirect("checks:today")
    if isinstance(found, Instrument):
        return redirect("stock:labels")
    raise Http404


def _site(request: ScopedRequest) -> str:
    return request.build_absolute_uri("/").rstrip("/")


def _pdf(labels: list[Label], name: str) -> HttpResponse:
    answer = HttpResponse(labels_pdf(labels, title=f"Labels of {name}"), content_type="application/pdf")
    answer["Content-Disposition"] = 'inline; filename="labels.pdf"'
    return answer

"""One batch: may it be sold, and why (not)?"""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from batches.making import pictures
from batches.making.course import USUAL_ORDER, next_events
from batches.making.forms import EventForm
from batches.making.heat import heat_pictures
from batches.making.panels import panels_of
from batches.making.queries import events_of, made_of, makes_of
from batches.making.sheet import sheet_of
from batches.making.yields import yield_found
from haccp.checks.lot_checks import checks_of_lot
from haccp.checks.queries import records_of_lot
from haccp.lots.age import age_in_days
from haccp.lots.models import Lot
from haccp.lots.queries import holds_of
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def batch(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    scope, now = request.scope, timezone.now()
    make = get_object_or_404(makes_of(scope.premises).select_related("procedure", "lot__premises"), pk=lot_id)
    sheet = sheet_of(make, now)
    events, records = events_of(make.lot), records_of_lot(make.lot_id)
    unit = scope.user.preferred_unit("temperature")
    made = made_of(make.lot_id)
    context = {
        "make": make,
        "sheet": sheet,
        "state": sheet.current,
        "yielded": yield_found(make),
        "panels": panels_of(request, make, now),
        "age_days": age_in_days(scope.premises, make.lot, now),
        "timeline": pictures.make_timeline(scope.premises, make.lot, events, records, sheet),
        "events": events,
        "correctable": USUAL_ORDER,
        "checks": checks_of_lot(make.lot_id, now),
        "records": records,
        "heat": [one for record in records for one in heat_pictures(record, unit)],
        "acidity": pictures.acidity_curves(scope.premises, make.lot, events, records, sheet),
        "milk": [one for one in made if one.lot.kind == Lot.Kind.MILK],
        "brines": [one for one in made if one.lot.kind == Lot.Kind.BRINE],
        "lifted_holds": [hold for hold in holds_of(make.lot) if hasattr(hold, "lift")],
        "next_events": next_events({event.kind for event in events}),
        "form": EventForm(),
        "may_record": scope.may(Right.RECORD),
    }
    return render(request, "making/batch.html", context)

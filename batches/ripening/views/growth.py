"""What could grow in a batch: a page of advice."""

from dataclasses import replace
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from batches.ripening.growth import GrowthPicture, growth_of
from haccp.drawing.chart import Series, TimeChart
from haccp.drawing.layout import COMPACT
from haccp.drawing.roles import Role
from haccp.drawing.svg import to_svg_pair
from haccp.drawing.time_chart import time_chart
from haccp.lots.models import Lot
from haccp.lots.queries import lots_of
from haccp.premises.models import User
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.science.units import quantity_of, unit_of


@needs(Right.READ)
def growth(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    scope = request.scope
    lot = get_object_or_404(lots_of(scope.premises).batches().select_related("premises"), pk=lot_id)
    found = growth_of(scope.premises, lot, timezone.now())
    svg = _picture(lot, found.history, scope.user) if found.history is not None else ""
    return render(request, "ripening/growth.html", {"lot": lot, "growth": found, "svg": svg})


def _picture(lot: Lot, history: GrowthPicture, reader: User) -> SafeString:
    """The temperatures that the advice rests on."""
    unit = reader.preferred_unit("temperature") or "°C"
    chosen = unit_of(quantity_of("temperature"), unit)
    shown = (history.temperature_c - chosen.offset) / chosen.factor
    chart = TimeChart(
        title=f"{lot.code}: temperature",
        description=f"Temperature from {shown.min():.1f} to {shown.max():.1f} {unit}, as the advice takes it.",
        unit=unit,
        origin=history.origin,
        zone=lot.premises.zone,
        series=(Series("", history.t_s, shown, Role.SERIES_1, longest_gap_s=30 * 3600.0),),
    )
    pair = to_svg_pair(time_chart(chart), time_chart(replace(chart, layout=COMPACT)), id_prefix=f"growth-{lot.pk}")
    return mark_safe(pair)  # noqa: S308 - the drawing room escapes every text that it writes

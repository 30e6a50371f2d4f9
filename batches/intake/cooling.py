"""How a milk lot was cooled: its temperatures as typed or recorded, against the rules of the jurisdiction."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from batches.intake.models import MilkFinding, MilkLot
from haccp.calibration.queries import standing_doubts
from haccp.checks import trace_store
from haccp.checks.models import Reading, TraceFile
from haccp.drawing.chart import Level, Series, TimeChart, offsets_s
from haccp.drawing.layout import COMPACT, WIDE, Layout
from haccp.drawing.picture import Picture, Shape
from haccp.drawing.roles import Role
from haccp.drawing.svg import to_svg_pair
from haccp.drawing.time_chart import time_chart
from haccp.premises.models import Premises
from haccp.science.milk.cooling import judge_cooling
from haccp.science.milk.cooling_rules import PublishedCooling, cooling_rules
from haccp.science.ruling import Verdict
from haccp.science.trace import FloatArray
from haccp.science.units import from_si, show

FEWEST_TO_DRAW = 2


@dataclass(frozen=True, slots=True)
class Cooling:
    """svg: None below two readings. judged: each published rule, with what it says where it sets a time.
    files: the recorder's files that were brought in for this milk."""

    svg: SafeString | None
    judged: tuple[tuple[PublishedCooling, Verdict | None], ...]
    readings: int
    files: tuple[TraceFile, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Curve:
    """at: aware datetimes as seconds after origin, shape (n,); c: °C, shape (n,)."""

    origin: datetime
    t_s: FloatArray
    c: FloatArray
    uncertainty_c: float


def cooling_of(
    premises: Premises, milk: MilkLot, findings: Sequence[MilkFinding], now: datetime, unit: str = "°C"
) -> Cooling:
    files = tuple(TraceFile.objects.filter(lot=milk.lot).select_related("premises").order_by("uploaded_at"))
    curve = _curve(milk, findings, files)
    rules = cooling_rules(premises.jurisdiction)
    judged = tuple((one, _judge(one, milk, curve, now)) for one in rules)
    if curve is None or curve.t_s.size < FEWEST_TO_DRAW:
        return Cooling(None, judged, 0 if curve is None else int(curve.t_s.size), files)
    return Cooling(_svg(premises, milk, curve, rules, unit), judged, int(curve.t_s.size), files)


def _curve(milk: MilkLot, findings: Sequence[MilkFinding], files: Sequence[TraceFile]) -> _Curve | None:
    """Typed, read in the plan's checks, and recorded, as one line in time; of what was typed, only what counts."""
    typed = [
        (one.observed_at, float(one.value_si), one.expanded_uncertainty)
        for one in findings
        if one.kind == MilkFinding.Kind.TEMPERATURE and one.value_si is not None and not one.unfit
    ]
    read = Reading.objects.filter(
        record__lot=milk.lot,
        record__amended_by__isnull=True,
        measure__quantity="temperature",
        value_si__isnull=False,
        record__instrument_unfit="",
    ).select_related("record")
    doubts = standing_doubts(r.record_id for r in read)
    read_well = [r for r in read if r.record_id not in doubts]
    typed += [(r.record.observed_at, float(r.value_si or 0.0), r.record.expanded_uncertainty) for r in read_well]
    origin = milk.milked_from or min([milk.lot.begun_at, *(at for at, _, _ in typed)])
    t = offsets_s([at for at, _, _ in typed], origin)
    c = np.array([value for _, value, _ in typed], dtype=np.float64)
    for file in files:
        trace = trace_store.load(file)
        shift = (trace.started_at - origin).total_seconds()
        for name in _milk_channels(file):
            t, c = np.concatenate([t, trace.t_s + shift]), np.concatenate([c, trace.channels[name]])
    kept = np.isfinite(c)
    if not kept.any():
        return None
    order = np.argsort(t[kept], kind="stable")
    return _Curve(origin, t[kept][order], c[kept][order], max((u for _, _, u in typed), default=0.0))


def _milk_channels(file: TraceFile) -> Iterable[str]:
    """The channels said to be the milk; all where none is."""
    named = [name for name, role in file.roles.items() if role == "product"]
    return named or list(file.roles)


def _judge(rule: PublishedCooling, milk: MilkLot, curve: _Curve | None, now: datetime) -> Verdict | None:
    """None where the rule sets no time, or the time that it counts from was not given."""
    start = milk.milked_from if rule.clock == "milking_began" else milk.milked_until
    if rule.rule is None or start is None:
        return None
    empty = np.array([], dtype=np.float64)
    shift = 0.0 if curve is None else (curve.origin - start).total_seconds()
    return judge_cooling(
        rule.rule,
        empty if curve is None else curve.t_s + shift,
        empty if curve is None else curve.c,
        expanded_uncertainty_c=0.0 if curve is None else curve.uncertainty_c,
        ended_s=(now - start).total_seconds(),
    )


def _svg(premises: Premises, milk: MilkLot, curve: _Curve, rules: Sequence[PublishedCooling], unit: str) -> SafeString:
    unit = unit or "°C"
    wanted = sorted({rule.rule.wanted_c for rule in rules if rule.rule is not None} or {8.0, 6.0})
    title = _("Cooling of %(code)s") % {"code": milk.lot.code}

    def draw(layout: Layout) -> Picture:
        return time_chart(
            TimeChart(
                title=title,
                description=_("From %(first)s down to %(last)s in %(n)s readings.")
                % {
                    "first": show("temperature", float(curve.c[0]), unit),
                    "last": show("temperature", float(curve.c[-1]), unit),
                    "n": curve.t_s.size,
                },
                unit=unit,
                origin=curve.origin,
                zone=premises.zone,
                series=(
                    Series(
                        _("milk"),
                        curve.t_s,
                        np.array([from_si("temperature", float(v), unit) for v in curve.c]),
                        shape=Shape.DISC if curve.t_s.size <= 40 else None,
                    ),
                ),
                levels=tuple(
                    Level(from_si("temperature", c, unit), show("temperature", c, unit), Role.TARGET) for c in wanted
                ),
                layout=layout,
            )
        )

    # Safe: the drawing room escapes every text that it writes.
    return mark_safe(to_svg_pair(draw(WIDE), draw(COMPACT), id_prefix=f"cooling-{milk.pk}"))  # noqa: S308

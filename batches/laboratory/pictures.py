"""What a plan of samples can detect, and how a parameter goes over time, drawn."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from batches.laboratory.criteria import plan_words
from batches.laboratory.judging import plan_of
from batches.laboratory.models import SampleTest
from batches.laboratory.queries import TrendPoint
from haccp.drawing.chart import Level as TimeLevel
from haccp.drawing.chart import Series, TimeChart, offsets_s
from haccp.drawing.layout import COMPACT
from haccp.drawing.picture import Picture, Shape
from haccp.drawing.roles import Role
from haccp.drawing.svg import to_svg_pair
from haccp.drawing.time_chart import time_chart
from haccp.drawing.xy_chart import Curve, Level, Upright, XYChart, xy_chart
from haccp.premises.models import Premises
from haccp.science.sampling.curves import accept_three_class, accept_two_class, shares_of_lognormal, units_to_detect
from haccp.science.units import from_si, quantity_of

# Spread of log10 counts within a batch that is often assumed: ICMSF, Microorganisms in Foods 7, from memory
SPREAD_LOG10 = 0.8
BELOW_ONE = 1.0


@dataclass(frozen=True, slots=True)
class OperatingCurve:
    """words: what the curve says, for those who do not look at it."""

    svg: SafeString
    words: str


def operating_curve(test: SampleTest) -> OperatingCurve | None:
    """How often a batch of a given quality would pass; None for a test without a criterion."""
    plan = plan_of(test)
    if test.kind == SampleTest.Kind.ABSENCE:
        return _of_absence(test)
    if plan is None:
        return None
    top = plan.upper or plan.m
    low, high = math.log10(max(plan.m, 1.0)) - 2.5, math.log10(max(top, 1.0)) + 2.5
    mean = np.linspace(low, high, 161)
    if plan.m <= 0:
        return None
    marginal, defective = shares_of_lognormal(mean, SPREAD_LOG10, plan.m, plan.upper)
    accepted = accept_three_class(plan.n, plan.c, marginal, defective)
    half = float(np.interp(-0.5, -accepted, mean))
    nineteen = float(np.interp(-0.95, -accepted, mean))
    seldom = float(np.interp(-0.05, -accepted, mean))
    words = _(
        "With %(plan)s, a batch whose counts average %(often)s per g passes 95 times in 100, one of %(half)s every "
        "second time, one of %(seldom)s 5 times in 100 (counts spread by %(spread)g log10 within a batch)."
    ) % {
        "plan": _plan(test),
        "often": _count(nineteen),
        "half": _count(half),
        "seldom": _count(seldom),
        "spread": SPREAD_LOG10,
    }
    uprights = [Upright(math.log10(plan.m), f"m = {plan.m:g}", Role.TARGET)]
    if plan.upper is not None:
        uprights.append(Upright(math.log10(plan.upper), f"M = {plan.upper:g}", Role.LIMIT))
    chart = XYChart(
        title=_("What this plan detects: %(parameter)s") % {"parameter": test.parameter},
        description=words,
        x_name=_("average of the batch, log10 %(unit)s") % {"unit": test.unit},
        y_name=_("passes, %"),
        curves=(Curve("", mean, accepted * 100),),
        x_range=(low, high),
        y_range=(0.0, 100.0),
        uprights=tuple(uprights),
        levels=_shares(),
    )
    return OperatingCurve(_svg(chart, f"oc-{test.pk}"), words)


def _of_absence(test: SampleTest) -> OperatingCurve:
    share = np.linspace(0.0, 0.6, 121)
    accepted = accept_two_class(test.n, 0, share) if test.n > 0 else share
    seldom = float(np.interp(-0.05, -accepted, share)) if accepted[-1] < 0.05 else float("nan")
    reach = _("every portion") if math.isnan(seldom) else f"{seldom * 100:.0f} %"
    words = _(
        "With %(plan)s, a batch of which %(reach)s of the portions hold it still passes 5 times in 100. To be 95 %% "
        "sure of finding it in one of 100 portions would take %(units)d units."
    ) % {"plan": _plan(test), "reach": reach, "units": units_to_detect(0.01)}
    chart = XYChart(
        title=_("What this plan detects: %(parameter)s") % {"parameter": test.parameter},
        description=words,
        x_name=_("portions of %(amount)s that hold it, %%") % {"amount": test.absent_in},
        y_name=_("passes, %"),
        curves=(Curve("", share * 100, accepted * 100),),
        x_range=(0.0, 60.0),
        y_range=(0.0, 100.0),
        levels=_shares(),
    )
    return OperatingCurve(_svg(chart, f"oc-{test.pk}"), words)


def _shares() -> tuple[Level, ...]:
    return (Level(95.0, "95 %", Role.TARGET), Level(5.0, "5 %", Role.TARGET))


def _plan(test: SampleTest) -> str:
    return plan_words(test.n, test.c, test.m, test.largest, test.unit, test.absent_in)


def _count(log10: float) -> str:
    value = 10**log10
    return f"{value:,.0f}".replace(",", "\u00a0") if value >= 10 else f"{value:.1g}"


@dataclass(frozen=True, slots=True)
class Trend:
    svg: SafeString
    words: str


def trend(premises: Premises, parameter: str, points: Sequence[TrendPoint]) -> Trend | None:
    """Counts as log10, each unit of a sample a mark, with the strictest m and M asked for; None without a number."""
    drawn = [(point, value) for point in points for value in _values(point)]
    if not drawn:
        return None
    is_count = points[-1].test.kind == SampleTest.Kind.COUNT
    origin = drawn[0][0].at
    levels = _trend_levels(points) if is_count else ()
    unit = f"log10 {points[-1].test.unit}" if is_count else quantity_of(parameter).si_unit
    values = ngettext("%(count)d value", "%(count)d values", len(drawn)) % {"count": len(drawn)}
    samples = ngettext("%(count)d sample", "%(count)d samples", len(points)) % {"count": len(points)}
    words = _("%(parameter)s: %(values)s of %(samples)s.") % {
        "parameter": parameter,
        "values": values,
        "samples": samples,
    }
    chart = TimeChart(
        title=parameter,
        description=words,
        unit=unit,
        origin=origin,
        zone=premises.zone,
        series=(
            Series(
                "",
                offsets_s([point.at for point, _value in drawn], origin),
                np.array([value for _point, value in drawn]),
                shape=Shape.DISC,
                joined=False,
            ),
        ),
        levels=levels,
    )
    pair = to_svg_pair(time_chart(chart), time_chart(replace(chart, layout=COMPACT)), id_prefix="trend")
    return Trend(mark_safe(pair), words)  # noqa: S308 - the drawing room escapes every text that it writes


def _values(point: TrendPoint) -> list[float]:
    facts = point.result.facts
    if point.test.kind == SampleTest.Kind.COUNT:
        low, high = facts.get("low", []), facts.get("high", [])
        # “< 10” is drawn at 10 and “> 300” at 300: the worst that each is known to be
        worst = [b if b is not None else a for a, b in zip(low, high, strict=False)]
        return [math.log10(max(value, BELOW_ONE)) for value in worst]
    return [from_si(point.test.parameter, float(value), "") for value in facts.get("values_si", [])]


def _trend_levels(points: Sequence[TrendPoint]) -> tuple[TimeLevel, ...]:
    lower = [point.test.m for point in points if point.test.m]
    upper = [point.test.largest for point in points if point.test.largest]
    found = [TimeLevel(math.log10(min(lower)), f"m = {min(lower):g}", Role.TARGET)] if lower else []
    if upper and min(upper) != (min(lower) if lower else None):
        found.append(TimeLevel(math.log10(min(upper)), f"M = {min(upper):g}", Role.LIMIT))
    return tuple(found)


def _svg(chart: XYChart, id_prefix: str) -> SafeString:
    wide, compact = _pair(chart)
    return mark_safe(to_svg_pair(wide, compact, id_prefix=id_prefix))  # noqa: S308 - drawing escapes its texts


def _pair(chart: XYChart) -> tuple[Picture, Picture]:
    return xy_chart(chart), xy_chart(replace(chart, layout=COMPACT))

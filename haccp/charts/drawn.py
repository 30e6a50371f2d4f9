"""A measure's control charts, drawn and in words; they are computed in haccp.science.control_charts."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from haccp.charts.queries import Value
from haccp.drawing.layout import COMPACT
from haccp.drawing.picture import DASHED, DOTTED, Shape
from haccp.drawing.roles import Role
from haccp.drawing.scale import padded
from haccp.drawing.svg import to_svg_pair
from haccp.drawing.xy_chart import Curve, Level, XYChart, xy_chart
from haccp.plan.models import Measure
from haccp.science.control_charts.capability import Capability, capability
from haccp.science.control_charts.cusum import cusum
from haccp.science.control_charts.ewma import ewma
from haccp.science.control_charts.individuals import individuals
from haccp.science.control_charts.signal import Signal
from haccp.science.errors import InputError
from haccp.science.trace import FloatArray
from haccp.science.units import quantity_of, unit_of

# The limits come from the first values, a time when all was well; 20 and more make them trustworthy (NIST/SEMATECH
# e-Handbook, 6.3.2.2, from memory)
BASELINE = 25
# k = half a sigma and h = 5 sigma find a shift of one sigma soon: NIST/SEMATECH e-Handbook, 6.3.2.3, from memory
ALLOWANCE, DECISION = 0.5, 5.0


@dataclass(frozen=True, slots=True)
class Said:
    """A signal in words, with the value at which it is seen."""

    sentence: str
    value: Value
    number: int


@dataclass(frozen=True, slots=True)
class Chart:
    title: str
    words: str
    svg: SafeString
    signals: tuple[Said, ...]


@dataclass(frozen=True, slots=True)
class Charts:
    """problem: why no chart can be drawn, "" where they are."""

    charts: tuple[Chart, ...]
    capability: Capability | None
    capability_words: str
    problem: str


@dataclass(frozen=True, slots=True)
class _Scene:
    name: str
    unit: str
    values: tuple[Value, ...]
    x: FloatArray
    shown: FloatArray


def charts_of(measure: Measure, values: Sequence[Value], low: float | None, high: float | None, unit: str) -> Charts:
    """low, high: the limit in SI. unit: in which the person reads the quantity."""
    symbol = unit or measure.unit or quantity_of(measure.quantity).si_unit
    chosen = unit_of(quantity_of(measure.quantity), symbol)
    shown = np.array([(one.value - chosen.offset) / chosen.factor for one in values])
    bounds = [None if b is None else (b - chosen.offset) / chosen.factor for b in (low, high)]
    scene = _Scene(measure.label, symbol, tuple(values), np.arange(1, len(values) + 1, dtype=float), shown)
    try:
        base = individuals(shown.tolist(), baseline=min(BASELINE, len(values)))
    except InputError as error:
        return Charts((), None, "", str(error))
    charts = [
        _individuals(scene, base.centre, base.lower, base.upper, base.signals, bounds),
        _ranges(scene, base.ranges, base.mean_range, base.range_upper, base.signals),
        _ewma(scene, base.centre, base.sigma),
        _cusum(scene, base.centre, base.sigma),
    ]
    found, words = _capable(shown, bounds)
    return Charts(tuple(charts), found, words, "")


def _individuals(
    scene: _Scene,
    centre: float,
    lower: float,
    upper: float,
    signals: Sequence[Signal],
    bounds: Sequence[float | None],
) -> Chart:
    own = [one for one in signals if not one.code.startswith("range")]
    levels = [
        Level(centre, _("centre %(value)s") % {"value": _digits(centre)}, Role.AXIS),
        Level(lower, _("−3σ %(value)s") % {"value": _digits(lower)}, Role.TARGET, DASHED),
        Level(upper, _("+3σ %(value)s") % {"value": _digits(upper)}, Role.TARGET, DASHED),
    ]
    levels += [Level(b, _("limit %(value)s") % {"value": _digits(b)}, Role.LIMIT) for b in bounds if b is not None]
    return _chart(
        scene,
        "individuals",
        _("Each value"),
        _("Centre and limits come from the first %(count)d values.") % {"count": min(BASELINE, scene.x.size)},
        (Curve("", scene.x, scene.shown, Role.SERIES_1, shape=Shape.DISC), *_marked(scene.x, scene.shown, own)),
        levels,
        own,
    )


def _ranges(scene: _Scene, ranges: FloatArray, mean: float, upper: float, signals: Sequence[Signal]) -> Chart:
    own = [one for one in signals if one.code.startswith("range")]
    x = scene.x[1:]
    shifted = [replace(one, index=one.index - 1) for one in own]
    levels = [
        Level(mean, _("mean %(value)s") % {"value": _digits(mean)}, Role.AXIS),
        Level(upper, _("upper %(value)s") % {"value": _digits(upper)}, Role.TARGET, DASHED),
    ]
    return _chart(
        scene,
        "ranges",
        _("From one value to the next"),
        _("The size of each step; a jump shows here first."),
        (Curve("", x, ranges, Role.SERIES_3, shape=Shape.SQUARE), *_marked(x, ranges, shifted)),
        levels,
        own,
    )


def _ewma(scene: _Scene, centre: float, sigma: float) -> Chart:
    found = ewma(scene.shown.tolist(), target=centre, sigma=sigma)
    x = np.arange(0, found.averages.size, dtype=float)
    return _chart(
        scene,
        "ewma",
        _("Weighted average"),
        _("Sees a small shift that lasts, which single values hide (weight 0.3)."),
        (
            Curve("", x, found.averages, Role.SERIES_2, shape=Shape.DISC),
            Curve("", x, found.lower, Role.TARGET, DASHED),
            Curve("", x, found.upper, Role.TARGET, DASHED),
            *_marked(x[1:], found.averages[1:], found.signals),
        ),
        [Level(centre, _("centre %(value)s") % {"value": _digits(centre)}, Role.AXIS)],
        found.signals,
    )


def _cusum(scene: _Scene, centre: float, sigma: float) -> Chart:
    found = cusum(scene.shown.tolist(), target=centre, allowance=ALLOWANCE * sigma, decision=DECISION * sigma)
    # The first signal of a run says it; the rest of the run would only repeat it
    firsts = [one for i, one in enumerate(found.signals) if not i or found.signals[i - 1].sentence != one.sentence]
    return _chart(
        scene,
        "cusum",
        _("Sum of what is over the centre"),
        _("Adds up what lies above (line) and below (dotted), and tells about when a shift began."),
        (
            Curve("", scene.x, found.high, Role.SERIES_1),
            Curve("", scene.x, found.low, Role.SERIES_2, DOTTED),
        ),
        [Level(found.decision, _("signal %(value)s") % {"value": _digits(found.decision)}, Role.LIMIT, DASHED)],
        firsts,
    )


def _marked(x: FloatArray, y: FloatArray, signals: Sequence[Signal]) -> tuple[Curve, ...]:
    at = sorted({one.index for one in signals if 0 <= one.index < x.size})
    return (Curve("", x[at], y[at], Role.PROBLEM, shape=Shape.DIAMOND, joined=False),) if at else ()


def _chart(
    scene: _Scene,
    key: str,
    title: str,
    words: str,
    curves: tuple[Curve, ...],
    levels: Sequence[Level],
    signals: Sequence[Signal],
) -> Chart:
    said = tuple(
        Said(one.sentence, scene.values[one.index], one.index + 1) for one in signals if one.index < len(scene.values)
    )
    heard = (
        _("No signal.")
        if not said
        else ngettext("%(count)d signal.", "%(count)d signals.", len(said)) % {"count": len(said)}
    )
    y = np.concatenate([*(curve.y[np.isfinite(curve.y)] for curve in curves), [level.y for level in levels]])
    x = np.concatenate([curve.x for curve in curves])
    chart = XYChart(
        title=f"{scene.name}: {title}",
        description=f"{words} {heard}",
        x_name=_("value number, oldest first"),
        y_name=scene.unit,
        curves=curves,
        x_range=(float(x.min()) - 0.5, float(x.max()) + 0.5),
        y_range=padded(float(y.min()), float(y.max()), 0.06),
        levels=tuple(levels),
        x_counts=True,
    )
    pair = to_svg_pair(xy_chart(chart), xy_chart(replace(chart, layout=COMPACT)), id_prefix=f"chart-{key}")
    return Chart(title, f"{words} {heard}", mark_safe(pair), said)  # noqa: S308 - drawing escapes its texts


def _capable(shown: FloatArray, bounds: Sequence[float | None]) -> tuple[Capability | None, str]:
    low, high = bounds
    if low is None and high is None:
        return None, _("No limit watches it, so there is nothing to be capable of.")
    try:
        found = capability(shown.tolist(), low=low, high=high)
    except InputError as error:
        return None, str(error)
    return found, found.sentence


def _digits(value: float) -> str:
    return f"{value:.4g}".replace("-", "−")

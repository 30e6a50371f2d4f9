"""Pictures of what the checks hold, as SVG for a page."""

from collections.abc import Mapping

from django.utils.safestring import SafeString, mark_safe

from haccp.checks import trace_store
from haccp.checks.models import TraceFile
from haccp.drawing.chart import Span
from haccp.drawing.degrees import CELSIUS, FAHRENHEIT
from haccp.drawing.heat_chart import HeatChart, heat_chart
from haccp.drawing.layout import COMPACT, WIDE, Layout
from haccp.drawing.picture import Picture
from haccp.drawing.roles import Role
from haccp.drawing.svg import to_svg_pair
from haccp.plan.models import CriticalLimit
from haccp.science.ruling import JsonValue

FLAW_WORDS = {"gap": "no samples", "stuck": "value stands still", "jump": "value jumps"}


def heat_picture(
    trace_file: TraceFile,
    *,
    roles: Mapping[str, str],
    limit: CriticalLimit,
    reason: str,
    facts: Mapping[str, JsonValue],
    temperature_unit: str = "°C",
) -> SafeString | None:
    """The recorder's trace with the limit, the hold that counts and what is wrong with the recording.

    reason, facts: of the ruling (or the would-be verdict) of the evaluator "holding". None when no channel is said
    to measure the milk, or the limit has no lowest temperature to draw.
    """
    if "product" not in roles.values() or limit.low is None:
        return None

    def draw(layout: Layout) -> Picture:
        return heat_chart(
            HeatChart(
                title=f"{trace_file.filename}: {limit.statement}",
                description=reason,
                trace=trace,
                roles=dict(roles),
                limit_c=float(limit.low or 0.0),
                zone=trace_file.premises.zone,
                run_s=_run(facts),
                problems=_problems(facts),
                target_c=limit.target_low,
                air_space_limit_c=_air_space_limit(limit, roles),
                degrees=FAHRENHEIT if temperature_unit == "°F" else CELSIUS,
                layout=layout,
            )
        )

    trace = trace_store.load(trace_file)
    # Every text in the picture is escaped by haccp.drawing.svg.
    svg = to_svg_pair(draw(WIDE), draw(COMPACT), id_prefix=f"heat-{trace_file.pk}-{limit.pk}")
    return mark_safe(svg)  # noqa: S308


def _run(facts: Mapping[str, JsonValue]) -> tuple[float, float] | None:
    start, end = facts.get("run_start_s"), facts.get("run_end_s")
    if isinstance(start, int | float) and isinstance(end, int | float) and end > start:
        return float(start), float(end)
    return None


def _problems(facts: Mapping[str, JsonValue]) -> tuple[Span, ...]:
    flaws = facts.get("flaws")
    found = []
    for flaw in flaws if isinstance(flaws, list) else []:
        if not isinstance(flaw, dict):
            continue
        start, end, kind = flaw.get("start_s"), flaw.get("end_s"), str(flaw.get("kind"))
        if isinstance(start, int | float) and isinstance(end, int | float):
            role = Role.GAP if kind == "gap" else Role.PROBLEM
            found.append(Span(float(start), float(end), FLAW_WORDS.get(kind, kind), role))
    return tuple(found)


def _air_space_limit(limit: CriticalLimit, roles: Mapping[str, str]) -> float | None:
    above = limit.parameters.get("air_space_above_c")
    if above is None or limit.low is None or "air_space" not in roles.values():
        return None
    return float(limit.low) + float(above)

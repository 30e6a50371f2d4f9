"""The make's acidity: readings since the starter, and the limits that speak at a given hour."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from haccp.drawing.chart import Deadline, Event, Level, Series, Side, TimeChart, offsets_s
from haccp.drawing.layout import WIDE, Layout
from haccp.drawing.picture import Picture, Shape
from haccp.drawing.roles import Role
from haccp.drawing.time_chart import time_chart
from haccp.drawing.wording import ENGLISH, Wording


@dataclass(frozen=True, slots=True)
class AcidityLimit:
    """By elapsed_s after the starter the value is at most (pH) or at least (titratable acidity) this."""

    elapsed_s: float
    value: float
    at_most: bool = True


@dataclass(frozen=True, slots=True)
class AcidityChart:
    """starter_at, times: aware datetimes; values: one per time, in order of time.

    targets: dotted levels to aim at. events: offsets in seconds after the starter.
    band: the edges between which past makes lay, offsets in seconds after the starter.
    since: the event that time counts from, as it is written under the axis. decimals: of the values in labels.
    """

    title: str
    description: str
    starter_at: datetime
    times: Sequence[datetime]
    values: Sequence[float]
    limits: tuple[AcidityLimit, ...] = ()
    targets: tuple[float, ...] = ()
    events: tuple[Event, ...] = ()
    unit: str = "pH"
    since: str = "starter"
    decimals: int = 2
    band: tuple[Series, ...] = ()
    layout: Layout = WIDE
    wording: Wording = ENGLISH


def acidity_chart(chart: AcidityChart) -> Picture:
    """Readings as discs on a line; each limit forbids its side from its hour until the next limit's hour."""
    values = np.array(chart.values, dtype=np.float64)
    return time_chart(
        TimeChart(
            title=chart.title,
            description=chart.description,
            unit=chart.unit,
            origin=chart.starter_at,
            since=chart.since,
            series=(
                Series(_last_value(chart), offsets_s(chart.times, chart.starter_at), values, shape=Shape.DISC),
                *chart.band,
            ),
            deadlines=_deadlines(chart),
            levels=tuple(Level(value, _target(chart, value), Role.TARGET) for value in chart.targets),
            events=chart.events,
            layout=chart.layout,
            wording=chart.wording,
        )
    )


def _last_value(chart: AcidityChart) -> str:
    return f"{chart.unit} {chart.wording.number(chart.values[-1], chart.decimals)}" if chart.values else ""


def _target(chart: AcidityChart, value: float) -> str:
    return chart.wording.target.format(value=chart.unit, unit=chart.wording.number(value, chart.decimals))


def _deadlines(chart: AcidityChart) -> tuple[Deadline, ...]:
    limits = sorted(chart.limits, key=lambda limit: limit.elapsed_s)
    deadlines = []
    for i, limit in enumerate(limits):
        later = [other.elapsed_s for other in limits[i + 1 :] if other.at_most is limit.at_most]
        deadlines.append(
            Deadline(
                at_s=limit.elapsed_s,
                value=limit.value,
                label=_label(chart, limit),
                forbidden=Side.ABOVE if limit.at_most else Side.BELOW,
                until_s=later[0] if later else None,
            )
        )
    return tuple(deadlines)


def _label(chart: AcidityChart, limit: AcidityLimit) -> str:
    """As "≤ 5.30 by 6 h"; the hours of a make are counted on past midnight, as its limits are written."""
    hours, minutes = divmod(round(limit.elapsed_s / 60), 60)
    parts = [f"{hours} {chart.wording.hours}"] if hours else []
    parts += [f"{minutes} {chart.wording.minutes}"] if minutes or not hours else []
    sentence = chart.wording.at_most_by if limit.at_most else chart.wording.at_least_by
    return sentence.format(value=chart.wording.number(limit.value, chart.decimals), elapsed=" ".join(parts))

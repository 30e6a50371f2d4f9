"""Periodic results of a milk drawn over time: each result, the mean as it stood then, and the limit; as log10."""

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, time

import numpy as np
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from batches.intake.models import MilkCount
from haccp.drawing.chart import Level, Series, TimeChart, offsets_s
from haccp.drawing.layout import COMPACT
from haccp.drawing.picture import Shape
from haccp.drawing.roles import Role
from haccp.drawing.svg import to_svg_pair
from haccp.drawing.time_chart import time_chart
from haccp.premises.models import Premises
from haccp.science.milk.count_rules import CountRule, judge_periodic
from haccp.science.milk.counts import CountCriterion, CountResult
from haccp.science.units import show

FEWEST = 2


def count_picture(premises: Premises, title: str, counts: Sequence[MilkCount], rule: CountRule | None) -> SafeString:
    """counts: in order of sampling; empty markup where there are too few to draw."""
    if len(counts) < FEWEST or counts[0].sampled_on == counts[-1].sampled_on:
        return SafeString("")
    at = [_noon(premises, one.sampled_on) for one in counts]
    origin, unit = at[0], "cells/mL" if counts[0].quantity == MilkCount.Quantity.CELLS else "cfu/mL"
    values = np.array([math.log10(one.value) for one in counts])
    series = [Series(_("results"), offsets_s(at, origin), values, shape=Shape.DISC, joined=False)]
    means = _means(counts, rule) if isinstance(rule, CountCriterion) else []
    if means:
        drawn = np.array([math.log10(mean) for _day, mean in means])
        days = offsets_s([_noon(premises, day) for day, _mean in means], origin)
        series.append(Series(_("rolling mean"), days, drawn, Role.SERIES_2))
    spoken = ", ".join(f"{one.sampled_on:%-d %b %Y} {one.typed_text}" for one in counts)
    limit = "" if rule is None else _(" The limit is %(limit)s.") % {"limit": show(counts[0].quantity, rule.limit)}
    chart = TimeChart(
        title=title,
        description=f"{spoken}.{limit}",
        unit=f"log10 {unit}",
        origin=origin,
        zone=premises.zone,
        series=tuple(series),
        levels=() if rule is None else (Level(math.log10(rule.limit), show(counts[0].quantity, rule.limit)),),
    )
    key = f"counts-{counts[0].supplier_id}-{counts[0].species}-{counts[0].quantity}"
    pair = to_svg_pair(time_chart(chart), time_chart(replace(chart, layout=COMPACT)), id_prefix=key)
    return mark_safe(pair)  # noqa: S308 - the drawing room escapes every text that it writes


def _means(counts: Sequence[MilkCount], rule: CountRule) -> list[tuple[date, float]]:
    """The mean as it stood on the day of each result, once a day, where it was proven then."""
    results = [CountResult(one.sampled_on, one.value) for one in counts]
    found = []
    for day in sorted({one.sampled_on for one in counts}):
        verdict = judge_periodic(rule, results, as_of=day)
        mean = verdict.facts["mean"]
        if verdict.margin is not None and isinstance(mean, float):
            found.append((day, mean))
    return found


def _noon(premises: Premises, day: date) -> datetime:
    return datetime.combine(day, time(12), tzinfo=premises.zone)

"""What loggers and people said of the air of a room, drawn: any stretch of time, no peak lost."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from batches.ripening.models import RoomLog, RoomReading
from batches.ripening.overview import load_overview, samples_of
from batches.ripening.room_records import LOGGER_GAP_S
from haccp.checks import trace_store
from haccp.drawing.chart import Series, TimeChart
from haccp.drawing.layout import COMPACT
from haccp.drawing.picture import DASHED, DOTTED, SOLID, Dash, Shape
from haccp.drawing.roles import Role
from haccp.drawing.svg import to_svg_pair
from haccp.drawing.time_chart import time_chart
from haccp.premises.models import Place, Premises, User
from haccp.science.trace import FloatArray
from haccp.science.units import quantity_of, show, unit_of

# Up to here every sample is read; a longer stretch is drawn from the overviews, which lose no extreme either
IN_FULL = timedelta(days=8)
INKS = (Role.SERIES_1, Role.SERIES_2, Role.SERIES_3, Role.SERIES_4)
DASHES: tuple[Dash, ...] = (SOLID, DASHED, DOTTED)
Samples = tuple[FloatArray, FloatArray]


@dataclass(frozen=True, slots=True)
class Sensor:
    """One line of the picture in words: lowest and highest with their times."""

    label: str
    lowest: str
    lowest_at: datetime
    highest: str
    highest_at: datetime


@dataclass(frozen=True, slots=True)
class LoggedClimate:
    quantity: str
    title: str
    svg: SafeString
    sensors: tuple[Sensor, ...]


def logged_climates(
    premises: Premises, place: Place, start: datetime, end: datetime, reader: User
) -> list[LoggedClimate]:
    """One picture for temperature and one for humidity, of what was logged or typed from start to end. Two queries."""
    found: dict[tuple[str, str], list[Samples]] = defaultdict(list)
    is_long = end - start > IN_FULL
    logs = RoomLog.objects.filter(place=place, ends_at__gte=start, starts_at__lte=end).order_by("starts_at")
    for log in logs.defer("overview").select_related("trace") if not is_long else logs.select_related(None):
        found[log.quantity, log.label].append(_samples(log, start, is_long))
    by_hand = _typed(place, start, end)
    quantities = {quantity for quantity, _label in found} | set(by_hand)
    order = [one.value for one in RoomLog.Quantity if one.value in quantities]
    return [
        _drawn(premises, place, quantity, {k[1]: v for k, v in found.items() if k[0] == quantity},
               by_hand.get(quantity), start, end, reader)
        for quantity in order
    ]  # fmt: skip


def _samples(log: RoomLog, origin: datetime, is_long: bool) -> Samples:
    """In s from origin."""
    if is_long:
        t, values = load_overview(bytes(log.overview))
        began = log.starts_at
    else:
        trace = trace_store.load(log.trace)
        t, values = samples_of(trace, log.channel)
        began = trace.started_at + timedelta(seconds=float(t[0]))
    return t - t[0] + (began - origin).total_seconds(), values


def _typed(place: Place, start: datetime, end: datetime) -> dict[str, Samples]:
    rows = RoomReading.objects.filter(place=place, read_at__gte=start, read_at__lte=end).order_by("read_at")
    found: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for row in rows:
        at = (row.read_at - start).total_seconds()
        if row.temperature_c is not None:
            found[RoomLog.Quantity.TEMPERATURE].append((at, row.temperature_c))
        if row.relative_humidity is not None:
            found[RoomLog.Quantity.HUMIDITY].append((at, row.relative_humidity))
    return {
        str(quantity): (np.array([x for x, _y in rows_]), np.array([y for _x, y in rows_]))
        for quantity, rows_ in found.items()
    }


def _drawn(
    premises: Premises,
    place: Place,
    quantity: str,
    logs: dict[str, list[Samples]],
    by_hand: Samples | None,
    start: datetime,
    end: datetime,
    reader: User,
) -> LoggedClimate:
    unit = reader.preferred_unit(quantity) or quantity_of(quantity).si_unit
    chosen = unit_of(quantity_of(quantity), unit)
    window = (end - start).total_seconds()
    series, sensors = [], []
    for i, (label, parts) in enumerate(sorted(logs.items())):
        t, values = (np.concatenate(arrays) for arrays in zip(*parts, strict=True))
        order = np.argsort(t, kind="stable")
        t, values = t[order], values[order]
        inside = (t >= 0) & (t <= window)
        if not inside.any():
            continue
        t, values = t[inside], values[inside]
        dash = DASHES[i // len(INKS) % len(DASHES)]
        shown = (values - chosen.offset) / chosen.factor
        series.append(Series(label, t, shown, INKS[i % len(INKS)], dash, longest_gap_s=LOGGER_GAP_S))
        sensors.append(_sensor(label, quantity, unit, start, t, values))
    if by_hand is not None:
        t, values = by_hand
        shown = (values - chosen.offset) / chosen.factor
        series.append(Series("", t, shown, Role.EVENT, shape=Shape.DIAMOND, joined=False))
        sensors.append(_sensor(_("typed"), quantity, unit, start, t, values))
    title = f"{place.name}: {quantity_of(quantity).name}"
    words = "; ".join(f"{one.label} {one.lowest} – {one.highest}" for one in sensors)
    if not series:
        return LoggedClimate(quantity, title, SafeString(""), ())
    chart = TimeChart(
        title=title, description=words, unit=unit, origin=start, zone=premises.zone, series=tuple(series),
        window_s=(0.0, window),
    )  # fmt: skip
    pair = to_svg_pair(time_chart(chart), time_chart(replace(chart, layout=COMPACT)), id_prefix=f"logged-{quantity}")
    return LoggedClimate(quantity, title, mark_safe(pair), tuple(sensors))  # noqa: S308 - drawing escapes its texts


def _sensor(label: str, quantity: str, unit: str, start: datetime, t: FloatArray, values: FloatArray) -> Sensor:
    low, high = int(np.argmin(values)), int(np.argmax(values))
    return Sensor(
        label,
        show(quantity, float(values[low]), unit),
        start + timedelta(seconds=float(t[low])),
        show(quantity, float(values[high]), unit),
        start + timedelta(seconds=float(t[high])),
    )


def guessed_quantity(channel: str, values: Sequence[float] | FloatArray) -> str:
    """What a channel seems to measure, by its name, else by its values: the air of a cellar is damp."""
    name = channel.casefold()
    if any(word in name for word in ("humid", "rh", "r.h", "feucht", "humed", "umid", "%")):
        return RoomLog.Quantity.HUMIDITY
    array = np.asarray(values, dtype=float)
    known = array[np.isfinite(array)]
    is_damp = known.size > 0 and 45 < float(np.median(known)) <= 100
    return RoomLog.Quantity.HUMIDITY if is_damp else RoomLog.Quantity.TEMPERATURE

"""Ticks of a time axis: round times on the clock on the wall, or round spans since an event."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from haccp.drawing.wording import ENGLISH, Wording

MINUTE, HOUR, DAY = 60, 3600, 86400
CLOCK_STEPS_S = (
    *(1, 2, 5, 10, 15, 30),
    *(m * MINUTE for m in (1, 2, 5, 10, 15, 20, 30)),
    *(h * HOUR for h in (1, 2, 3, 4, 6, 12)),
    *(d * DAY for d in (1, 2, 7, 14, 28, 56, 112, 364)),
)
ELAPSED_UNITS_S = (DAY, HOUR, MINUTE, 1)


@dataclass(frozen=True, slots=True)
class Tick:
    """at_s: seconds after the chart's origin. major: begins a new day."""

    at_s: float
    label: str
    major: bool = False


def local_moments(start: datetime, end: datetime, zone: ZoneInfo, step_s: int) -> list[datetime]:
    """The moments from start to end (aware) at which the clock on the wall shows a whole multiple of step_s.

    Steps under a day count from local midnight, steps of days from a fixed date. Times that the clock skips in
    spring are left out; times that it shows twice in autumn come twice. Returns increasing UTC datetimes.
    """
    naive = _floor(start.astimezone(zone).replace(tzinfo=None), step_s)
    # The wall clock can be set back while the axis runs, so look further than its last wall time.
    last = end.astimezone(zone).replace(tzinfo=None) + timedelta(hours=3)
    naive -= timedelta(seconds=max(step_s, 3 * HOUR) // step_s * step_s)
    moments: set[datetime] = set()
    while naive <= last:
        for fold in (0, 1):
            moment = naive.replace(tzinfo=zone, fold=fold).astimezone(UTC)
            if start <= moment <= end and moment.astimezone(zone).replace(tzinfo=None) == naive:
                moments.add(moment)
        naive += timedelta(seconds=step_s)
    return sorted(moments)


def _floor(naive: datetime, step_s: int) -> datetime:
    midnight = naive.replace(hour=0, minute=0, second=0, microsecond=0)
    if step_s >= DAY:
        days = step_s // DAY
        return midnight - timedelta(days=midnight.toordinal() % days)
    return midnight + timedelta(seconds=(naive - midnight).total_seconds() // step_s * step_s)


def clock_ticks(
    origin: datetime, from_s: float, to_s: float, zone: ZoneInfo, most: int, wording: Wording = ENGLISH
) -> list[Tick]:
    """At most about `most` ticks between two offsets (s) from the origin, labelled in local time.

    Midnight is labelled with its date. An hour that the clock shows twice names its offset's abbreviation.
    """
    start, end = origin + timedelta(seconds=from_s), origin + timedelta(seconds=to_s)
    step = next((s for s in CLOCK_STEPS_S if (to_s - from_s) / s <= most), CLOCK_STEPS_S[-1])
    ticks = []
    for moment in local_moments(start, end, zone, step):
        local = moment.astimezone(zone)
        new_day = local.hour == local.minute == local.second == 0
        label = wording.short_date_of(local) if new_day else clock_time(local, seconds=step < MINUTE)
        ticks.append(Tick((moment - origin).total_seconds(), label, new_day))
    return ticks


def clock_time(local: datetime, *, seconds: bool = False) -> str:
    """The time on the wall of an aware local datetime; where the clock shows it twice, which of the two."""
    text = f"{local:%H:%M:%S}" if seconds else f"{local:%H:%M}"
    return f"{text} {local.tzname()}" if _shown_twice(local) else text


def _shown_twice(local: datetime) -> bool:
    naive = local.replace(tzinfo=None)
    first, second = (naive.replace(tzinfo=local.tzinfo, fold=fold) for fold in (0, 1))
    return first.utcoffset() > second.utcoffset()  # type: ignore[operator]


def clock_caption(origin: datetime, from_s: float, to_s: float, zone: ZoneInfo, wording: Wording = ENGLISH) -> str:
    """The date or dates of an axis and its zone: "25 Oct 2026, Europe/Paris (CEST, CET)"."""
    start, end = ((origin + timedelta(seconds=s)).astimezone(zone) for s in (from_s, to_s))
    dates = wording.date_of(start)
    if start.date() != end.date():
        first = wording.short_date_of(start) if start.year == end.year else dates
        dates = f"{first} – {wording.date_of(end)}"
    names = [start.tzname() or ""]
    moment = start.astimezone(UTC)
    while moment < end and len(names) < 2:
        moment = min(moment + timedelta(days=1), end.astimezone(UTC))
        if (name := moment.astimezone(zone).tzname() or "") not in names:
            names.append(name)
    place = zone.key.replace("_", " ")
    return f"{dates}, {place}" if names == [place] else f"{dates}, {place} ({', '.join(names)})"


def elapsed_unit_s(from_s: float, to_s: float) -> int:
    """The unit in which a span is read most easily: seconds, minutes, hours or days."""
    span = to_s - from_s
    return next((unit for unit in ELAPSED_UNITS_S if span >= 3 * unit or unit == 1), 1)


def elapsed_unit_name(unit_s: int, wording: Wording = ENGLISH) -> str:
    return {DAY: wording.days, HOUR: wording.hours, MINUTE: wording.minutes, 1: wording.seconds}[unit_s]


def elapsed_ticks(from_s: float, to_s: float, most: int, wording: Wording = ENGLISH) -> list[Tick]:
    """Round numbers of the unit that suits the span; zero is among them where the span holds it."""
    unit = elapsed_unit_s(from_s, to_s)
    steps: tuple[float, ...] = (
        (1, 2, 5, 10, 15, 20, 30, 60, 120) if unit < HOUR else (0.5, 1, 2, 3, 4, 6, 12, 24, 48, 7 * 24)
    )
    if unit == DAY:
        steps = (0.5, 1, 2, 5, 7, 10, 14, 28, 30, 60, 90, 180, 365)
    step = next((s * unit for s in steps if (to_s - from_s) / (s * unit) <= most), steps[-1] * unit)
    first, last = int(-(-from_s // step)), int(to_s // step)
    decimals = 1 if step < unit else 0
    return [Tick(i * step, wording.number(i * step / unit, decimals)) for i in range(first, last + 1)]

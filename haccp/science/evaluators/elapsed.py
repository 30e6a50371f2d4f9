"""A value that must be reached within a time of an event: pH at most 5.30 within 6 h of the starter."""

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from haccp.science.acidity import Projection, project
from haccp.science.evaluators import bounds
from haccp.science.evaluators.evaluator import NUMERIC, Evaluator, number
from haccp.science.evaluators.wording import capital
from haccp.science.evidence import Evidence, Reading
from haccp.science.guard import guard_band
from haccp.science.limit import Limit
from haccp.science.ruling import JsonValue, Ruling, Verdict
from haccp.science.units import quantity_of, show, spell_duration

SLOW = "elapsed.slow"
"""The code of a verdict that says: at this rate the limit will be missed."""


@dataclass(frozen=True, slots=True)
class _Course:
    """Readings since the event, split at the deadline; a reading on the deadline is in both."""

    limit: Limit
    event: str
    started_at: datetime
    within_s: float
    in_time: tuple[Reading, ...]
    late: tuple[Reading, ...]
    now: datetime

    @property
    def deadline(self) -> datetime:
        return self.started_at + timedelta(seconds=self.within_s)

    def after_s(self, moment: datetime) -> float:
        return (moment - self.started_at).total_seconds()

    def value(self, reading: Reading) -> float:
        assert reading.value is not None
        return reading.value

    def shown(self, reading: Reading) -> str:
        value = self.value(reading)
        shown = show(self.limit.quantity, value, self.limit.unit, decimals=bounds.places(self.limit, value))
        name = quantity_of(self.limit.quantity).name
        return shown if shown.startswith(name) else f"{capital(name)} {shown}"

    @property
    def rule(self) -> str:
        return f"{bounds.allowed(self.limit)} is needed within {spell_duration(self.within_s)} of {self.event}"

    def facts(self, **more: JsonValue) -> dict[str, JsonValue]:
        return {
            "event": self.event,
            "started_at": self.started_at.isoformat(),
            "deadline": self.deadline.isoformat(),
            "within_s": self.within_s,
            **more,
        }


def judge(limit: Limit, evidence: Evidence) -> Verdict:
    """MET or CLOSE once a fit reading in time is inside by its guard band. BREACHED when none is, and a reading at
    or after the deadline is outside. UNPROVEN when the deadline has passed and nothing shows either way, or when
    the event is missing. AWAITED before the deadline. Readings from before the event do not count.

    "Now" is evidence.as_of or the last reading, whichever is later, so that judging again gives the same.
    """
    event = str(limit.parameters["from_event"])
    started_at = evidence.events.get(event)
    words = event.replace("_", " ")
    if started_at is None:
        reason = f"“{words}” is not on record, so the time cannot be counted from it."
        return Verdict(Ruling.UNPROVEN, None, "elapsed.no_event", reason, {"event": words})
    course = _course(limit, evidence, words, started_at)
    proven = [r for r in course.in_time if _proves(limit, r)]
    if proven:
        return _reached(course, proven)
    outside = [r for r in course.late if not bounds.is_inside(limit, course.value(r))]
    if outside:
        return _too_late(course, outside[0])
    if course.late or course.now > course.deadline:
        return _not_shown(course)
    return _awaited(course)


def _course(limit: Limit, evidence: Evidence, event: str, started_at: datetime) -> _Course:
    within_s = number(limit, "within_s")
    assert within_s is not None
    deadline = started_at + timedelta(seconds=within_s)
    usable = [
        r
        for r in sorted(evidence.readings, key=lambda r: r.observed_at)
        if r.value is not None and math.isfinite(r.value) and r.observed_at >= started_at
    ]
    known = [started_at, *(r.observed_at for r in usable)]
    return _Course(
        limit,
        event,
        started_at,
        within_s,
        tuple(r for r in usable if r.observed_at <= deadline),
        tuple(r for r in usable if r.observed_at >= deadline),
        max(known if evidence.as_of is None else [*known, evidence.as_of]),
    )


def _proves(limit: Limit, reading: Reading) -> bool:
    assert reading.value is not None
    return reading.unfit is None and bounds.is_proven(limit, reading.value, reading.expanded_uncertainty)


def _reached(course: _Course, proven: list[Reading]) -> Verdict:
    limit, first = course.limit, proven[0]
    took_s = course.after_s(first.observed_at)
    target_s = number(limit, "target_within_s")
    on_target = [r for r in proven if not bounds.is_past_target(limit, course.value(r))]
    facts = course.facts(value=first.value, reached_s=took_s)
    start = f"{course.shown(first)} was reached {spell_duration(took_s, round_up=True)} after {course.event}"
    tail = f"{course.rule}. {capital(spell_duration(course.within_s - took_s))} to spare"
    margin = max(bounds.margin(limit, course.value(r)) for r in proven)
    if target_s is not None and took_s > target_s:
        reason = f"{start}; {tail}, but past the target of {spell_duration(target_s)}."
        return Verdict(Ruling.CLOSE, margin, "elapsed.close_time", reason, facts)
    if not on_target:
        return Verdict(Ruling.CLOSE, margin, "elapsed.close_value", f"{start}; {tail}, but past the target.", facts)
    return Verdict(Ruling.MET, margin, "elapsed.met", f"{start}; {tail}.", facts)


def _too_late(course: _Course, reading: Reading) -> Verdict:
    at_s, value = course.after_s(reading.observed_at), course.value(reading)
    reason = (
        f"{course.shown(reading)} after {spell_duration(at_s)}; {course.rule}. "
        f"{bounds.distance_words(course.limit, value)}."
    )
    facts = course.facts(value=value, observed_s=at_s)
    return Verdict(Ruling.BREACHED, bounds.margin(course.limit, value), "elapsed.too_late", reason, facts)


def _not_shown(course: _Course) -> Verdict:
    """The time is over and no reading settles it."""
    near = [r for r in course.in_time if bounds.is_inside(course.limit, course.value(r))]
    if near:
        why, code = _doubt(course, near[0]), "elapsed.uncertain"
    elif course.late:
        first = course.late[0]
        after = spell_duration(course.after_s(first.observed_at))
        why, code = f"{course.shown(first)} was read only after {after}", "elapsed.read_late"
    else:
        why, code = "no reading shows it, and the time is over", "elapsed.not_read"
    return Verdict(Ruling.UNPROVEN, None, code, f"{capital(course.rule)}; {why}.", course.facts())


def _doubt(course: _Course, reading: Reading) -> str:
    if reading.unfit:
        return f"{course.shown(reading)} would do, but the instrument cannot be relied on: {reading.unfit}"
    return f"{course.shown(reading)} is nearer to it than the instrument can tell"


def _awaited(course: _Course) -> Verdict:
    left_s = course.within_s - course.after_s(course.now)
    left = f"{capital(spell_duration(left_s))} left." if left_s > 0 else "The time is up now: read it now."
    if not course.in_time:
        reason = f"{capital(course.rule)}. {left}"
        return Verdict(Ruling.AWAITED, None, "elapsed.awaited", reason, course.facts(left_s=left_s))
    last = course.in_time[-1]
    value, at_s = course.value(last), course.after_s(last.observed_at)
    start = f"{course.shown(last)} after {spell_duration(at_s)}; {course.rule}. {left}"
    projection = None if bounds.is_inside(course.limit, value) else _projection(course, last)
    facts = course.facts(
        value=value,
        left_s=left_s,
        rate_per_h=None if projection is None else projection.rate_per_s * 3600,
        reached_s=None if projection is None else projection.reached_at_s,
    )
    code, more = _outlook(course, last, projection)
    margin = bounds.margin(course.limit, value)
    return Verdict(Ruling.AWAITED, margin, code, f"{start}{more}", facts)


def _projection(course: _Course, last: Reading) -> Projection | None:
    """Where the last two readings lead, to the value that would prove it: the bound and the guard band."""
    value = course.value(last)
    bound = bounds.nearest_bound(course.limit, value)
    band = guard_band(last.expanded_uncertainty)
    wanted = bound - band if value > bound else bound + band
    return project([(course.after_s(r.observed_at), course.value(r)) for r in course.in_time], wanted)


def _outlook(course: _Course, last: Reading, projection: Projection | None) -> tuple[str, str]:
    """Code, and the last sentence."""
    if bounds.is_inside(course.limit, course.value(last)):
        return "elapsed.awaited", f" {_doubt(course, last)}: read again."
    if projection is None:
        return "elapsed.awaited", ""
    if projection.reached_at_s is None:
        return SLOW, " Too slow: the last two readings are not moving towards it."
    when = spell_duration(projection.reached_at_s, round_up=True)
    if projection.reached_at_s > course.within_s:
        return SLOW, f" Too slow: at this rate it is reached only after {when}."
    return "elapsed.awaited", f" At this rate it is reached after {when}."


EVALUATOR = Evaluator(
    name="elapsed",
    title="A value reached within a time of an event",
    schema={
        "type": "object",
        "properties": {
            "from_event": {"type": "string", "minLength": 1},
            "within_s": {"type": "number", "exclusiveMinimum": 0},
            "target_within_s": {"type": "number", "exclusiveMinimum": 0},
        },
        "required": ["from_event", "within_s"],
        "additionalProperties": False,
    },
    comparators=NUMERIC,
    judge=judge,
    looks_back=True,
)

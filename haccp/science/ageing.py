"""The ageing clock: how many days a cheese is proven to have ripened as a rule asks, and when it may leave.

A rule counts time at or above a temperature from an event of the make. What no reading shows, or a reading shows too
near the limit, is unproven: it does not count, but may come to count once its proof is found. What was too cold, or
too warm, never counts. Everything is a function of what is handed in; nothing asks what time it is.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from itertools import pairwise

import numpy as np

from haccp.science.errors import InputError
from haccp.science.evidence import Reading
from haccp.science.guard import guard_band
from haccp.science.heat.holding import runs_at_or_above
from haccp.science.heat.intervals import Interval, intersect, subtract, union
from haccp.science.ruling import JsonValue, Ruling, Verdict
from haccp.science.trace import FloatArray, Trace
from haccp.science.units import show, spell_duration

DAY_S = 86_400.0


@dataclass(frozen=True, slots=True)
class AgeingRule:
    """days at lowest_c or warmer (and highest_c or colder), counted from start_event.

    lowest_c, highest_c: None where the rule has no such bound. With neither, time alone counts and no room's record
    is asked for. max_gap_s: the longest time between two readings of a room that still proves what lies between.
    """

    days: float
    start_event: str
    jurisdiction: str
    clause: str
    lowest_c: float | None = None
    highest_c: float | None = None
    max_gap_s: float = 12 * 3600.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.days) and self.days > 0 and self.max_gap_s > 0):
            raise InputError("An ageing rule counts more than no days.", remedy="Correct the rule.")
        if self.lowest_c is not None and self.highest_c is not None and self.lowest_c > self.highest_c:
            raise InputError("The lowest temperature is above the highest.", remedy="Exchange the two.")


@dataclass(frozen=True, slots=True, eq=False)
class RoomRecord:
    """What a room's thermometer recorded: one channel of a trace, in °C.

    expanded_uncertainty_c: U (k = 2). unfit: why the thermometer cannot be relied on, None when it can. max_gap_s:
    the longest time between two readings that this record proves; None for the rule's own.
    """

    trace: Trace
    channel: str
    expanded_uncertainty_c: float = 0.0
    unfit: str | None = None
    max_gap_s: float | None = None


@dataclass(frozen=True, slots=True)
class Stay:
    """The cheese was in a room from began_at (aware); to ended_at, or still is when that is None."""

    room: str
    began_at: datetime
    ended_at: datetime | None = None


class Standing(StrEnum):
    """What a stretch of time is worth to the clock."""

    PROVEN = "proven"
    UNPROVEN = "unproven"
    LOST = "lost"  # shown to be too cold or too warm


@dataclass(frozen=True, slots=True)
class Stretch:
    """room: empty where no room is on record. sentence: why it stands so, for a person."""

    standing: Standing
    room: str
    began_at: datetime
    ended_at: datetime
    sentence: str

    @property
    def length_s(self) -> float:
        return (self.ended_at - self.began_at).total_seconds()


@dataclass(frozen=True, slots=True)
class AgeingClock:
    """The state of the clock at as_of.

    started_at: None before the start event. stretches: the whole time from there to as_of, in order, none left out.
    proven_s, unproven_s, lost_s: their sums. earliest_release_at: when the rule is proven met; while it is not, when
    it would be if all time from as_of on were proven. if_all_proven_at: the same if all that is unproven were found
    to be good. reached_at: when the rule was met by proven time, None while it is not. changes: what would move the
    date, in sentences.
    """

    rule: AgeingRule
    as_of: datetime
    started_at: datetime | None
    stretches: tuple[Stretch, ...]
    proven_s: float
    unproven_s: float
    lost_s: float
    reached_at: datetime | None
    earliest_release_at: datetime | None
    if_all_proven_at: datetime | None
    changes: tuple[str, ...]

    @property
    def days_proven(self) -> float:
        return self.proven_s / DAY_S

    @property
    def verdict(self) -> Verdict:
        """MET once proven time is enough; UNPROVEN when only unproven time is between it and that; else AWAITED."""
        return _verdict(self)


def record_of_readings(readings: Sequence[Reading], *, channel: str = "air") -> RoomRecord:
    """Readings that people took, as a room's record. The coarsest instrument rules; an unfit one is left out.

    InputError without a usable reading.
    """
    usable = sorted(
        (r for r in readings if r.value is not None and r.unfit is None), key=lambda r: (r.observed_at, -(r.value or 0))
    )
    if not usable:
        raise InputError("No reading of the room can be used.", remedy="Take one with a calibrated thermometer.")
    # Of two readings at one moment the colder is kept, the later in this order
    by_time = {r.observed_at: r for r in usable}
    start = usable[0].observed_at.astimezone(UTC)
    t = np.array([(at.astimezone(UTC) - start).total_seconds() for at in by_time])
    values = np.array([r.value for r in by_time.values()], dtype=float)
    doubt = max(r.expanded_uncertainty for r in usable)
    return RoomRecord(Trace(start, t, {channel: values}), channel, doubt)


def ageing_clock(
    rule: AgeingRule,
    started_at: datetime | None,
    stays: Sequence[Stay],
    records: Mapping[str, Sequence[RoomRecord]],
    *,
    as_of: datetime,
) -> AgeingClock:
    """The clock of one batch.

    started_at: when the rule's start event happened; None while it has not. stays: where the cheese was, in any
    order. records: room -> its records; several loggers' of one room are taken one after another, the first that
    proves a moment proves it, and one that shows it too cold or too warm outdoes that. A reading
    after as_of may prove the time before it. InputError for naive times and for stays
    that overlap.
    """
    ordered = _checked(stays, as_of, started_at)
    # Within one local zone Python subtracts wall clocks, which lose or gain the hour of a clock change
    as_of, started_at = as_of.astimezone(UTC), started_at and started_at.astimezone(UTC)
    if started_at is None or started_at >= as_of:
        return _not_started(rule, started_at, as_of)
    pieces = list(_pieces(ordered, started_at, as_of))
    stretches = [s for room, span in pieces for s in _stretches(rule, room, span, started_at, records)]
    return _summed(rule, started_at, as_of, _joined(stretches))


def _checked(stays: Sequence[Stay], as_of: datetime, started_at: datetime | None) -> list[Stay]:
    times = [as_of, started_at, *(t for s in stays for t in (s.began_at, s.ended_at))]
    if any(t is not None and t.tzinfo is None for t in times):
        raise InputError("A time of the ageing has no time zone.", remedy="Give aware times.")
    ordered = sorted((_in_utc(stay) for stay in stays), key=lambda s: s.began_at)
    for stay in ordered:
        if stay.ended_at is not None and stay.ended_at < stay.began_at:
            raise InputError(f"A stay in {stay.room} ends before it begins.", remedy="Exchange the two times.")
    for first, second in pairwise(ordered):
        if first.ended_at is None or first.ended_at > second.began_at:
            raise InputError(
                f"The cheese is in {first.room} and {second.room} at the same time.",
                remedy="Give the time at which it was moved.",
            )
    return ordered


def _in_utc(stay: Stay) -> Stay:
    ended_at = stay.ended_at and stay.ended_at.astimezone(UTC)
    return Stay(stay.room, stay.began_at.astimezone(UTC), ended_at)


def _not_started(rule: AgeingRule, started_at: datetime | None, as_of: datetime) -> AgeingClock:
    due = None if started_at is None else started_at + timedelta(days=rule.days)
    return AgeingClock(rule, as_of, started_at, (), 0.0, 0.0, 0.0, None, due, due, ())


def _pieces(stays: list[Stay], started_at: datetime, as_of: datetime) -> list[tuple[str, Interval]]:
    """The time from the start to as_of, in s from the start, by room; an empty room where none is on record."""
    end_s = (as_of - started_at).total_seconds()
    pieces: list[tuple[str, Interval]] = []
    at = 0.0
    for stay in stays:
        began = max((stay.began_at - started_at).total_seconds(), at)
        ended = end_s if stay.ended_at is None else min((stay.ended_at - started_at).total_seconds(), end_s)
        if ended <= began:
            continue
        if began > at:
            pieces.append(("", (at, began)))
        pieces.append((stay.room, (began, ended)))
        at = ended
    if at < end_s:
        pieces.append(("", (at, end_s)))
    return pieces


def _stretches(
    rule: AgeingRule, room: str, span: Interval, origin: datetime, records: Mapping[str, Sequence[RoomRecord]]
) -> list[Stretch]:
    """A piece of time cut by what it is worth."""
    if rule.lowest_c is None and rule.highest_c is None:
        return [_stretch(Standing.PROVEN, room, span, origin, "The rule asks for time alone.")]
    if not room:
        return [_stretch(Standing.UNPROVEN, room, span, origin, "No room is on record for the cheese.")]
    known = records.get(room, ())
    proven: list[Interval] = []
    lost: list[Interval] = []
    near: list[Interval] = []
    for record in known:
        sure, bad, doubtful = _worth(rule, record, span, origin)
        proven, lost, near = [*proven, *sure], [*lost, *bad], [*near, *doubtful]
    lost = union(lost)
    proven = subtract(union(proven), lost)
    near = subtract(subtract(union(near), lost), proven)
    blank = subtract(subtract(subtract([span], lost), proven), near)
    unfit = next((r.unfit for r in known if r.unfit), None)
    found = [_stretch(Standing.PROVEN, room, i, origin, _asked(rule)) for i in proven]
    found += [_stretch(Standing.LOST, room, i, origin, f"{room} was outside what the rule asks for.") for i in lost]
    found += [_stretch(Standing.UNPROVEN, room, i, origin, _near_words(rule, room)) for i in near]
    found += [_stretch(Standing.UNPROVEN, room, i, origin, _blank_words(room, unfit)) for i in blank]
    # A stretch of less than a microsecond is noise of a crossing
    return sorted((s for s in found if s.ended_at > s.began_at), key=lambda s: s.began_at)


def _worth(
    rule: AgeingRule, record: RoomRecord, span: Interval, origin: datetime
) -> tuple[list[Interval], list[Interval], list[Interval]]:
    """Of a span (s from origin) what one record proves, what it shows to be lost, and what is too near to say."""
    values = record.trace.channels[record.channel]
    present = np.isfinite(values)
    shift = (record.trace.started_at - origin).total_seconds()
    t, v = record.trace.t_s[present] + shift, values[present]
    watched = intersect(_watched(t, record.max_gap_s or rule.max_gap_s), [span])
    inside = intersect(_within(rule, t, v, 0.0), watched)
    lost = subtract(watched, inside)
    if record.unfit is not None:
        # What an unfit thermometer shows as good proves nothing; what it shows as bad is taken at its word
        return [], lost, []
    proven = intersect(_within(rule, t, v, guard_band(record.expanded_uncertainty_c)), watched)
    return proven, lost, subtract(inside, proven)


def _watched(t: FloatArray, max_gap_s: float) -> list[Interval]:
    """The stretches between readings that are near enough to each other."""
    if not t.size:
        return []
    breaks = np.flatnonzero(np.diff(t) > max_gap_s + 1e-9)
    starts, ends = t[np.append(0, breaks + 1)], t[np.append(breaks, t.size - 1)]
    return [(a, b) for a, b in zip(starts.tolist(), ends.tolist(), strict=True) if b > a]


def _within(rule: AgeingRule, t: FloatArray, v: FloatArray, band: float) -> list[Interval]:
    whole = [(float(t[0]), float(t[-1]))] if t.size else []
    if rule.lowest_c is not None:
        whole = intersect(whole, runs_at_or_above(t, v, rule.lowest_c + band))
    if rule.highest_c is not None:
        whole = intersect(whole, runs_at_or_above(t, -v, -rule.highest_c + band))
    return whole


def _stretch(standing: Standing, room: str, span: Interval, origin: datetime, sentence: str) -> Stretch:
    return Stretch(standing, room, origin + timedelta(seconds=span[0]), origin + timedelta(seconds=span[1]), sentence)


def _joined(stretches: list[Stretch]) -> list[Stretch]:
    """Neighbours that say the same, made one."""
    joined: list[Stretch] = []
    for stretch in stretches:
        last = joined[-1] if joined else None
        if last and (last.standing, last.room, last.sentence) == (stretch.standing, stretch.room, stretch.sentence):
            joined[-1] = replace(last, ended_at=stretch.ended_at)
        else:
            joined.append(stretch)
    return joined


def _summed(rule: AgeingRule, started_at: datetime, as_of: datetime, stretches: list[Stretch]) -> AgeingClock:
    sums = {s: sum(x.length_s for x in stretches if x.standing is s) for s in Standing}
    reached = _moment_of(rule, [s for s in stretches if s.standing is Standing.PROVEN])
    best = _moment_of(rule, [s for s in stretches if s.standing is not Standing.LOST])
    needed_s = rule.days * DAY_S
    good_s = sums[Standing.PROVEN] + sums[Standing.UNPROVEN]
    earliest = reached or as_of + timedelta(seconds=needed_s - sums[Standing.PROVEN])
    best = best or as_of + timedelta(seconds=needed_s - good_s)
    return AgeingClock(
        rule=rule,
        as_of=as_of,
        started_at=started_at,
        stretches=tuple(stretches),
        proven_s=sums[Standing.PROVEN],
        unproven_s=sums[Standing.UNPROVEN],
        lost_s=sums[Standing.LOST],
        reached_at=reached,
        earliest_release_at=earliest,
        if_all_proven_at=best,
        changes=tuple(_changes(rule, stretches, earliest, best)) if reached is None else (),
    )


def _moment_of(rule: AgeingRule, stretches: list[Stretch]) -> datetime | None:
    """When these stretches together had the days that the rule asks for; None when they have not."""
    left = rule.days * DAY_S
    for stretch in stretches:
        # A microsecond is what a datetime can tell
        if stretch.length_s >= left - 1e-6:
            return stretch.began_at + timedelta(seconds=left)
        left -= stretch.length_s
    return None


def _changes(rule: AgeingRule, stretches: list[Stretch], earliest: datetime, best: datetime) -> list[str]:
    found = []
    gain_s = (earliest - best).total_seconds()
    if gain_s >= 1:
        found.append(f"If all that is unproven were proven good, release could come {spell_duration(gain_s)} earlier.")
    unproven: dict[str, float] = {}
    for stretch in stretches:
        if stretch.standing is Standing.UNPROVEN:
            unproven[stretch.sentence] = unproven.get(stretch.sentence, 0.0) + stretch.length_s
    for sentence, length_s in sorted(unproven.items(), key=lambda item: -item[1]):
        found.append(f"{spell_duration(length_s)} are unproven: {sentence}")
    lost = sum(s.length_s for s in stretches if s.standing is Standing.LOST)
    if lost >= 1:
        found.append(f"{spell_duration(lost)} outside what the rule asks for are lost: nothing brings them back.")
    if rule.lowest_c is not None or rule.highest_c is not None:
        found.append(f"Every day from now on that is not proven moves release by a day. {_asked(rule)}")
    return found


def _verdict(clock: AgeingClock) -> Verdict:
    needed_s = clock.rule.days * DAY_S
    facts: dict[str, JsonValue] = {
        "days": clock.rule.days,
        "proven_s": clock.proven_s,
        "unproven_s": clock.unproven_s,
        "lost_s": clock.lost_s,
        "clause": clock.rule.clause,
        "as_of": clock.as_of.isoformat(),
        "earliest_release_at": clock.earliest_release_at.isoformat() if clock.earliest_release_at else None,
    }
    days = f"{clock.rule.days:g} days"
    if clock.started_at is None:
        reason = f"{days} are counted from {clock.rule.start_event.replace('_', ' ')}, which is not recorded."
        return Verdict(Ruling.AWAITED, None, "ageing.not_started", reason, facts)
    proven = spell_duration(clock.proven_s)
    margin = clock.proven_s - needed_s
    if clock.reached_at is not None:
        reason = f"{proven} of ageing are proven; {days} are asked for."
        return Verdict(Ruling.MET, margin, "ageing.met", reason, facts)
    if clock.proven_s + clock.unproven_s >= needed_s - 1e-6:
        unproven = spell_duration(clock.unproven_s)
        reason = f"{proven} of ageing are proven and {unproven} are unproven; {days} are asked for."
        return Verdict(Ruling.UNPROVEN, margin, "ageing.unproven", reason, facts)
    left = spell_duration(-margin, round_up=True)
    reason = f"{proven} of ageing are proven; {days} are asked for: {left} to go."
    return Verdict(Ruling.AWAITED, margin, "ageing.awaited", reason, facts)


def _asked(rule: AgeingRule) -> str:
    bounds = []
    if rule.lowest_c is not None:
        bounds.append(f"{show('temperature', rule.lowest_c)} or warmer")
    if rule.highest_c is not None:
        bounds.append(f"{show('temperature', rule.highest_c)} or colder")
    return f"The rule asks for {' and '.join(bounds)}."


def _near_words(rule: AgeingRule, room: str) -> str:
    return f"{room} was too near the limit for its thermometer to tell. {_asked(rule)}"


def _blank_words(room: str, unfit: str | None) -> str:
    if unfit is not None:
        return f"The thermometer of {room} cannot be relied on: {unfit}."
    return f"{room} has no readings near enough to each other."

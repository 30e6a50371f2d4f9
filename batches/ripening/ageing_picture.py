"""The ageing clock of a batch, drawn and in words, for its page and for paper."""

from dataclasses import dataclass, replace
from datetime import datetime

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from batches.ripening.ageing_clock import BatchClock
from haccp.drawing.ageing_bar import AgedStretch, AgeingBar, Moment, Worth, ageing_bar, until
from haccp.drawing.layout import COMPACT
from haccp.drawing.roles import Role
from haccp.drawing.svg import to_svg_pair
from haccp.premises.models import Premises
from haccp.science.ageing import AgeingClock, Standing, Stretch
from haccp.science.ruling import Ruling
from haccp.science.units import show, spell_duration

WORTH = {Standing.PROVEN: Worth.PROVEN, Standing.UNPROVEN: Worth.UNPROVEN, Standing.LOST: Worth.LOST}


@dataclass(frozen=True, slots=True)
class ClockInWords:
    """One rule's clock. asks: the rule; svg: "" before the start. gaps: every stretch that does not count yet."""

    asks: str
    clause: str
    ruling: Ruling
    reason: str
    release: str
    if_proven: str
    changes: tuple[str, ...]
    gaps: tuple[Stretch, ...]
    svg: SafeString


def clocks_in_words(premises: Premises, batch: BatchClock) -> tuple[ClockInWords, ...]:
    """Every rule's clock, the one that the batch waits for longest first."""
    return tuple(_in_words(premises, batch, clock, i) for i, clock in enumerate(batch.clocks))


def _in_words(premises: Premises, batch: BatchClock, clock: AgeingClock, i: int) -> ClockInWords:
    verdict = clock.verdict
    bar = bar_of(premises, batch, clock)
    svg = SafeString("")
    if bar is not None:
        pair = to_svg_pair(
            ageing_bar(bar), ageing_bar(replace(bar, layout=COMPACT)), id_prefix=f"ageing-{batch.lot.pk}-{i}"
        )
        svg = mark_safe(pair)  # noqa: S308 - the drawing room escapes every text that it writes
    is_met = clock.reached_at is not None
    return ClockInWords(
        asks=_asks(clock),
        clause=clock.rule.clause,
        ruling=verdict.ruling,
        reason=verdict.reason,
        release=_day(premises, clock.earliest_release_at),
        if_proven="" if is_met or not _gains(clock) else _day(premises, clock.if_all_proven_at),
        changes=clock.changes,
        gaps=tuple(one for one in clock.stretches if one.standing is not Standing.PROVEN),
        svg=svg,
    )


def _asks(clock: AgeingClock) -> str:
    rule = clock.rule
    days = _("%(days)g days") % {"days": rule.days}
    if rule.lowest_c is None:
        return days
    return _("%(days)s at %(temperature)s or warmer") % {
        "days": days,
        "temperature": show("temperature", rule.lowest_c),
    }


def _gains(clock: AgeingClock) -> bool:
    earliest, best = clock.earliest_release_at, clock.if_all_proven_at
    return earliest is not None and best is not None and (earliest - best).total_seconds() >= 3600


def _day(premises: Premises, moment: datetime | None) -> str:
    if moment is None:
        return ""
    local = moment.astimezone(premises.zone)
    return f"{local.day} {local:%b %Y, %H:%M}"


def bar_of(premises: Premises, batch: BatchClock, clock: AgeingClock) -> AgeingBar | None:
    """The clock as a bar; None before the make has begun."""
    if not clock.stretches:
        return None
    stretches = [AgedStretch(WORTH[one.standing], one.room, one.began_at, one.ended_at) for one in clock.stretches]
    moments = []
    earliest = clock.earliest_release_at
    if clock.reached_at is None and earliest is not None:
        ahead = until(earliest, clock.as_of)
        stretches += [ahead] if ahead else []
        said = _("earliest release %(day)s") % {"day": _short(premises, earliest)}
        moments.append(Moment(earliest, said, Role.LIMIT))
        if _gains(clock) and clock.if_all_proven_at is not None:
            best = _("%(day)s if all were proven") % {"day": _short(premises, clock.if_all_proven_at)}
            moments.append(Moment(clock.if_all_proven_at, best, Role.TARGET))
    elif clock.reached_at is not None:
        said = _("%(days)g days proven %(day)s") % {
            "days": clock.rule.days,
            "day": _short(premises, clock.reached_at),
        }
        moments.append(Moment(clock.reached_at, said, Role.BAND))
    moments.append(Moment(clock.as_of, _("counted to %(day)s") % {"day": _short(premises, clock.as_of)}))
    return AgeingBar(
        title=_("Ageing of %(code)s: %(asks)s") % {"code": batch.lot.code, "asks": _asks(clock)},
        description=_described(clock),
        zone=premises.zone,
        stretches=tuple(stretches),
        moments=tuple(moments),
        legend=tuple(_legend(clock)),
    )


def _legend(clock: AgeingClock) -> list[tuple[Worth, str]]:
    words = {
        Worth.PROVEN: (_("proven"), clock.proven_s),
        Worth.UNPROVEN: (_("unproven"), clock.unproven_s),
        Worth.LOST: (_("lost: outside what the rule asks for"), clock.lost_s),
    }
    found = [(worth, f"{word}, {spell_duration(size)}") for worth, (word, size) in words.items() if size >= 1]
    left_s = clock.rule.days * 86_400 - clock.proven_s
    if clock.reached_at is None and left_s > 0:
        to_come = _("still to come, %(time)s") % {"time": spell_duration(left_s, round_up=True)}
        found.append((Worth.TO_COME, to_come))
    return found


def _described(clock: AgeingClock) -> str:
    parts = [clock.verdict.reason]
    parts += [f"{spell_duration(one.length_s)} {one.standing.value}: {one.sentence}" for one in clock.stretches]
    return " ".join(parts)


def _short(premises: Premises, moment: datetime) -> str:
    local = moment.astimezone(premises.zone)
    return f"{local.day} {local:%b}"

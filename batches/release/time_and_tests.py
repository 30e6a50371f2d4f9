"""What takes time: the ageing clock of the batch, and results that the laboratory still owes."""

from collections.abc import Iterable

from batches.laboratory.queries import Standing as TestStanding
from batches.laboratory.queries import lines_of_lots
from batches.release.facts import Facts
from batches.release.points import Link, Matter, Point, met, outstanding, unproven
from batches.ripening.ageing_clock import clocks_of
from haccp.science.ageing import AgeingClock
from haccp.science.ruling import Ruling

_DONE = (TestStanding.GOOD, TestStanding.KEPT)


def ageing(facts: Facts) -> Iterable[Point]:
    """One point for each rule that the batch has to meet, in whole days, so that it reads the same all day."""
    clock = clocks_of(facts.premises, [facts.batch], facts.at)[facts.batch.pk]
    if not clock.clocks:
        yield met(Matter.AGEING, "Neither the law nor the plan asks for a number of days of this cheese.")
    for one in clock.clocks:
        yield _of_rule(facts, one)


def _of_rule(facts: Facts, clock: AgeingClock) -> Point:
    rule = clock.rule
    words = f"{int(clock.days_proven)} of {rule.days:g} days are proven ({rule.clause})."
    if clock.verdict.ruling is Ruling.MET:
        when = f" since {facts.when(clock.reached_at)}" if clock.reached_at else ""
        return met(Matter.AGEING, f"{rule.days:g} days are proven{when} ({rule.clause}).")
    earliest = facts.day(clock.earliest_release_at) if clock.earliest_release_at else None
    if clock.verdict.ruling is Ruling.UNPROVEN:
        # Time alone may still do it: the clock says when, if all from now on is proven.
        return unproven(Matter.AGEING, f"{words} {clock.verdict.reason}", earliest=earliest)
    return outstanding(Matter.AGEING, words, earliest=earliest)


def laboratory(facts: Facts) -> Iterable[Point]:
    """Every test of samples of the batch and of what went into it."""
    told = {one.id for one in facts.deviations}
    for lines in lines_of_lots(facts.lots).values():
        for line in lines:
            link = Link("laboratory:sample", "Open the sample", line.sample.pk)
            about = facts.about(line.sample.lot)
            if line.standing in _DONE:
                yield met(Matter.LABORATORY, f"{line.words}{about}", link)
            elif line.standing is TestStanding.UNPROVEN:
                yield unproven(Matter.LABORATORY, f"{line.words}{about}", link)
            elif line.result is None or line.result.deviation_id not in told:
                yield outstanding(Matter.LABORATORY, f"{line.words}{about}", link)

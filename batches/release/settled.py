"""Holds and deviations: what is open about the batch, and what was decided."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from batches.release.facts import Facts, cause_of
from batches.release.points import Link, Matter, Point, met, outstanding
from haccp.deviations.models import CorrectiveStep, Deviation, LotEnd
from haccp.deviations.queries import LETS_GO_ON, disposition_words

Kind = CorrectiveStep.Kind


def holds(facts: Facts) -> Iterable[Point]:
    """Of the batch, and of what it was made of where the batch itself was not evaluated under the same deviation."""
    evaluated = {one.id for one in facts.deviations if _implicates(one, facts.batch.id)}
    found = [
        hold
        for hold in facts.holds
        if hold.lot_id == facts.batch.id or cause_of(hold) is None or cause_of(hold) not in evaluated
    ]
    if not found:
        yield met(Matter.HOLD, "Nothing holds this batch, nor a lot that went into it.")
    for hold in found:
        deviation_id = cause_of(hold)
        link = Link("deviations:detail", "Open the deviation", deviation_id) if deviation_id else None
        yield outstanding(Matter.HOLD, f"On hold{facts.about(hold.lot)}: {hold.reason}", link)


def ends(facts: Facts) -> Iterable[Point]:
    """A lot that is no more is never released."""
    for end in LotEnd.objects.filter(lot=facts.batch):
        words = f"It is no more: {end.get_disposition_display()}. {end.note}"
        yield outstanding(Matter.DEVIATION, words, Link("deviations:detail", "Open the deviation", end.deviation_id))


def deviations(facts: Facts) -> Iterable[Point]:
    """Open ones, save those that a hold already tells of; closed ones by what they decided for this batch."""
    told = {cause_of(hold) for hold in facts.holds}
    if not facts.deviations:
        yield met(Matter.DEVIATION, "No deviation has touched it.")
    for one in facts.deviations:
        link = Link("deviations:detail", "Open the deviation", one.id)
        if not hasattr(one, "closure"):
            if one.id not in told:
                yield outstanding(Matter.DEVIATION, f"{one.reference} is open: {one.summary}", link)
            continue
        step = _last_disposition(one, facts.batch.id)
        if step is None:
            if not _implicates(one, facts.batch.id):
                yield met(Matter.DEVIATION, f"{one.reference} is closed; it did not touch this batch itself.", link)
            else:
                yield outstanding(Matter.DEVIATION, f"{one.reference} is closed without a word of this batch.", link)
        elif step.disposition in LETS_GO_ON:
            words = f"{one.reference} is closed: {disposition_words(step)}. {step.text}"
            yield met(Matter.DEVIATION, words, link)
        elif one.id not in told:
            words = f"{one.reference} decided: {disposition_words(step)}. It can never be released."
            yield outstanding(Matter.DEVIATION, words, link)


def covered_rulings(facts: Facts) -> set[tuple[UUID | None, UUID]]:
    """(latest version of a record, limit) for which a deviation was opened: it tells of the ruling."""
    return {(facts.chain.get(one.ruling.record_id), one.ruling.limit_id) for one in facts.deviations if one.ruling}


def covered_by_missed(facts: Facts) -> dict[tuple[UUID | None, str], datetime]:
    """(lot, key of a limit) -> when a check that would have judged it was last due and missed, of those for which a
    deviation was opened: it tells of the limit, and is where it is decided."""
    found: dict[tuple[UUID | None, str], datetime] = {}
    for one in facts.deviations:
        rows = [one.missed, *(again.missed for again in one.missed_again.all())]
        for due in (row.due for row in rows if row is not None):
            for limit in {limit for measure in due.check_due.measures.all() for limit in measure.limits.all()}:
                key = (due.lot_id, limit.key)
                found[key] = max(found.get(key, due.due_at), due.due_at)
    return found


def _implicates(deviation: Deviation, lot_id: UUID) -> bool:
    return any(one.lot_id == lot_id for one in deviation.implicated.all())


def _last_disposition(deviation: Deviation, lot_id: UUID) -> CorrectiveStep | None:
    steps = [step for step in deviation.steps.all() if step.kind == Kind.DISPOSITION and step.lot_id == lot_id]
    return steps[-1] if steps else None

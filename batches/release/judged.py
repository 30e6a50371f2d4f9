"""Critical limits and checks: what was judged, what was missed, what is still to be done, what nothing will judge."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from batches.release.facts import Facts
from batches.release.points import Link, Matter, Point, met, outstanding, unproven
from batches.release.settled import covered_by_missed, covered_rulings
from haccp.checks.models import Record, RulingRow
from haccp.checks.wording import RULING_WORDS
from haccp.lots.models import Lot
from haccp.lots.subjects import SUBJECT_OF_KIND
from haccp.plan.models import Check, CriticalLimit
from haccp.science.ruling import Ruling


def rulings(facts: Facts) -> Iterable[Point]:
    """Each limit by its last ruling; what a deviation tells of is not told again: a breach, or the check that would
    have decided a limit still awaited, and was missed."""
    covered, missed = covered_rulings(facts), covered_by_missed(facts)
    last: dict[tuple[UUID | None, UUID], tuple[Record, RulingRow]] = {}
    for record in facts.records:
        for ruling in record.rulings.all():
            last[record.lot_id, ruling.limit_id] = (record, ruling)
            if Ruling(ruling.ruling).opens_deviation and (record.id, ruling.limit_id) not in covered:
                words = (
                    f"{record.check_done.name}{facts.about(record.lot)} was {RULING_WORDS[ruling.ruling].word} "
                    f"and nothing was decided about it: {ruling.reason}"
                )
                told = unproven if ruling.ruling == Ruling.UNPROVEN else outstanding
                yield told(Matter.LIMIT, words, Link("checks:record", "Open the record", record.id))
    for record, ruling in last.values():
        due_after = missed.get((record.lot_id, ruling.limit.key))
        if ruling.ruling != Ruling.AWAITED or due_after is None or due_after < record.observed_at:
            yield from _last_word(facts, record, ruling)


def _last_word(facts: Facts, record: Record, ruling: RulingRow) -> Iterable[Point]:
    limit, link = ruling.limit, Link("checks:record", "Open the record", record.id)
    matter = Matter.LIMIT if limit.control_point.is_critical else _matter_of(record.lot)
    about = f"{limit.statement} ({limit.control_point.code}){facts.about(record.lot)}"
    if ruling.ruling == Ruling.AWAITED:
        yield outstanding(Matter.LIMIT, f"{about}: {_awaited(facts, ruling)}", link)
    elif doubt := facts.doubt_of(record.id, ruling.limit_id):
        found_out = Link("deviations:detail", "Open the deviation", facts.doubts[record.id].deviation_id)
        yield unproven(Matter.LIMIT, f"{about}: {doubt}", found_out)
    elif Ruling(ruling.ruling).is_satisfied:
        word = RULING_WORDS[ruling.ruling].word
        yield met(matter, f"{about}: {word} on {facts.when(record.observed_at)}. {ruling.reason}", link)


def _awaited(facts: Facts, ruling: RulingRow) -> str:
    deadline = ruling.facts.get("deadline")
    if deadline is None or facts.at <= datetime.fromisoformat(deadline):
        return ruling.reason
    return f"the time for it was over on {facts.when(datetime.fromisoformat(deadline))}, and no reading has shown it."


def _matter_of(lot: Lot | None) -> Matter:
    if lot is None or lot.kind == Lot.Kind.BATCH:
        return Matter.CHECK
    return Matter.MILK if lot.kind == Lot.Kind.MILK else Matter.INGREDIENT


def checks(facts: Facts) -> Iterable[Point]:
    """Due checks: missed without a reason, still to be done; in one sentence where all were done."""
    open_checks = False
    for due in facts.due:
        missed = getattr(due, "missed", None)
        name = f"{due.check_due.name}{facts.about(due.lot)}, due {facts.when(due.due_at)},"
        if missed is not None and not hasattr(missed, "reason"):
            words = f"{name} was missed and nobody has said why."
            yield outstanding(Matter.CHECK, words, Link("checks:missed", "Say why", missed.id))
        elif due.settled_at is None:
            later = due.opens_at > facts.at
            opens = f" It can be done from {facts.when(due.opens_at)}." if later else ""
            earliest = facts.day(due.opens_at) if later else None
            link = Link("checks:due", "Open the check", due.id)
            yield outstanding(Matter.CHECK, f"{name} is still to be done.{opens}", link, earliest)
        else:
            continue
        open_checks = True
    if facts.due and not open_checks:
        yield met(Matter.CHECK, f"All {len(facts.due)} checks that fell due were done or their absence explained.")


def never_due(facts: Facts) -> Iterable[Point]:
    """A critical limit that nothing has judged and nothing will: what makes its check due was never recorded."""
    # By the keys that copies of a plan keep: a lot that was moved was judged by its earlier revision until then.
    judged = {(record.lot_id, ruling.limit.key) for record in facts.records for ruling in record.rulings.all()}
    fell_due = {(due.lot_id, due.check_due.key) for due in facts.due}
    watched: dict[tuple[Lot, CriticalLimit], list[Check]] = defaultdict(list)
    for lot in facts.lots:
        for check in facts.checks:
            if check.revision_id == facts.revisions[lot.id] and _concerns(check, lot):
                for limit in _limits_for(check, lot):
                    watched[lot, limit].append(check)
    for (lot, limit), watching in watched.items():
        if (lot.id, limit.key) in judged or any((lot.id, check.key) in fell_due for check in watching):
            continue
        words = (
            f"{limit.statement} ({watching[0].control_point.code}){facts.about(lot)}: no record judges this limit. "
            f"{_waits_for(watching[0])}"
        )
        yield unproven(Matter.LIMIT, words)


def _concerns(check: Check, lot: Lot) -> bool:
    products = {product.id for product in check.products.all()}
    return check.subject == SUBJECT_OF_KIND.get(Lot.Kind(lot.kind)) and (
        not products or lot.product_id is None or lot.product_id in products
    )


def _limits_for(check: Check, lot: Lot) -> list[CriticalLimit]:
    found = {limit for measure in check.measures.all() for limit in measure.limits.all()}
    for limit in list(found):
        products = {product.id for product in limit.products.all()}
        if products and lot.product_id is not None and lot.product_id not in products:
            found.discard(limit)
    return sorted(found, key=lambda limit: limit.statement)


def _waits_for(check: Check) -> str:
    event = check.cadence.get("event")
    if event is None:
        return f"Do “{check.name}” as an extra check."
    return f"“{check.name}” falls due once “{str(event).replace('_', ' ')}” is recorded."

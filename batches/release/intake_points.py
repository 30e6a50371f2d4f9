"""The milk and the ingredients of a batch: accepted by a person, and nothing known against them."""

from collections.abc import Iterable

from batches.intake.standing import LotStanding, standings
from batches.release.facts import Facts
from batches.release.points import Link, Matter, Point, met, outstanding
from haccp.lots.models import Lot

PAGES = {Lot.Kind.MILK: "intake:detail", Lot.Kind.INGREDIENT: "intake:ingredient"}
MATTERS = {Lot.Kind.MILK: Matter.MILK, Lot.Kind.INGREDIENT: Matter.INGREDIENT}


def intake(facts: Facts) -> Iterable[Point]:
    """What was used all the same opened a deviation, which tells of it here."""
    lots = [lot for lot in facts.lots[1:] if lot.kind in PAGES]
    if not lots:
        return
    known = standings(facts.premises, lots, facts.at)
    told = {implicated.lot_id for one in facts.deviations for implicated in one.implicated.all()}
    for lot in lots:
        kind = Lot.Kind(lot.kind)
        link = Link(PAGES[kind], "Open the lot", lot.pk)
        against = _against(known[lot.pk])
        if not against:
            decision = known[lot.pk].decision
            by = f" by {decision.decided_by.name}" if decision else ""
            yield met(MATTERS[kind], f"{lot.code} was accepted{by}.", link)
        elif lot.pk not in told:
            yield outstanding(MATTERS[kind], f"{lot.code}: {', '.join(against)}.", link)


def _against(standing: LotStanding) -> tuple[str, ...]:
    """What expired after it was used speaks against using more of it, not against this batch."""
    return tuple(why for why in standing.why_not(heated=True) if not why.startswith("it expired on"))

"""What was read of the batch and of what went into it with an instrument that was found out later."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from batches.release.points import Link, Matter, Point, unproven
from haccp.calibration.models import DoubtedReading
from haccp.calibration.queries import doubted_of_lots
from haccp.lots.models import Lot
from haccp.premises.scope import Scope

MATTERS = {Lot.Kind.MILK: Matter.MILK, Lot.Kind.INGREDIENT: Matter.INGREDIENT}


def in_doubt(scope: Scope, lots: Sequence[Lot], at: datetime) -> Sequence[Point]:
    """One point for each lot and calibration. What was read of the air of rooms counts in the ageing clock."""
    groups: dict[tuple[UUID | None, UUID], list[DoubtedReading]] = defaultdict(list)
    for one in doubted_of_lots(lots):
        groups[one.lot_id, one.calibration_id].append(one)
    points = []
    for those in groups.values():
        first = those[0]
        more = f" and {len(those) - 1} more" if len(those) > 1 else ""
        words = f"{first.words}{more}: {first.reason}"
        link = Link("calibration:calibration", "Open the calibration", first.calibration_id)
        if first.deviation is not None:
            words += f" It is unproven until {first.deviation.reference} is closed."
            link = Link("deviations:detail", "Open the deviation", first.deviation_id)
        matter = MATTERS.get(Lot.Kind(first.lot.kind), Matter.LIMIT) if first.lot else Matter.LIMIT
        points.append(unproven(matter, words, link))
    return points

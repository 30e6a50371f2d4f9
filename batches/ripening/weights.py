"""What the wheels of a batch weighed, and what they lost of it."""

from dataclasses import dataclass
from uuid import UUID

from batches.ripening.models import Weighing
from haccp.calibration.queries import doubted


@dataclass(frozen=True, slots=True)
class Weight:
    """per_piece_kg; loss_percent: against the first weighing that counts, per wheel; None for that one, and for one
    that does not count. unfit: why its scale cannot be relied on, "" where it can."""

    weighing: Weighing
    per_piece_kg: float
    loss_percent: float | None
    unfit: str


def weights_of(lot_id: UUID) -> list[Weight]:
    """Oldest first. Two queries."""
    found = Weighing.objects.filter(lot=lot_id).select_related("recorded_by", "instrument")
    rows = list(found.order_by("weighed_at", "recorded_at"))
    doubts = doubted(row.pk for row in rows) if rows else {}
    weights: list[Weight] = []
    first_kg: float | None = None
    for row in rows:
        unfit = row.instrument_unfit or (doubts[row.pk].reason if row.pk in doubts else "")
        each_kg = row.mass_kg / row.pieces
        lost = None if unfit or first_kg is None else (first_kg - each_kg) / first_kg * 100
        weights.append(Weight(row, each_kg, lost, unfit))
        if first_kg is None and not unfit:
            first_kg = each_kg
    return weights

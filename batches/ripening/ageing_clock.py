"""The ageing clock of a batch: the days that count, moved with the cheese from room to room.

The counting itself is haccp.science.ageing. Here it is handed the rules, the stays and the rooms' records. Time since
the last reading is not counted yet while the next reading is still to come in time: the clock then stands at that
reading, and its dates say what they will be when the next one is good.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

import numpy as np

from batches.ripening.ageing_rules import ageing_rules
from batches.ripening.room_records import batch_records, room_records
from batches.ripening.stays import stays_of
from haccp.lots.models import Lot, LotEvent
from haccp.lots.queries import lots_of
from haccp.lots.stays import moves_of
from haccp.premises.models import Place, Premises
from haccp.science.ageing import AgeingClock, AgeingRule, RoomRecord, Stay, ageing_clock
from haccp.science.ruling import Ruling

# Readings from before the make: the first reading of a stay needs one before it.
LOOK_BACK = timedelta(days=9)
_WORST_FIRST = (Ruling.UNPROVEN, Ruling.AWAITED, Ruling.MET)


@dataclass(frozen=True, slots=True)
class BatchClock:
    """clocks: one for each rule that the batch has to meet, the last to be reached first; empty where there is none.

    as_of: when it was asked. counted_to: the last reading, where the next one is still to come in time; else as_of.
    """

    lot: Lot
    as_of: datetime
    counted_to: datetime
    clocks: tuple[AgeingClock, ...]

    @property
    def governing(self) -> AgeingClock | None:
        """The clock that the batch has to wait for longest."""
        return self.clocks[0] if self.clocks else None

    @property
    def is_met(self) -> bool:
        """Every rule is met by proven time; True as well where no rule asks for ageing."""
        return all(clock.verdict.ruling is Ruling.MET for clock in self.clocks)

    @property
    def ruling(self) -> Ruling | None:
        """The worst of the clocks' rulings; None where no rule asks for ageing."""
        found = [clock.verdict.ruling for clock in self.clocks]
        return min(found, key=_WORST_FIRST.index) if found else None

    @property
    def earliest_release_at(self) -> datetime | None:
        """When the last rule is met, if all time from counted_to on is proven; None where no rule asks for ageing."""
        clock = self.governing
        return clock.earliest_release_at if clock else None

    @property
    def sentence(self) -> str:
        """What the clock says, for a person."""
        clock = self.governing
        if clock is None:
            return "Neither the law nor the plan asks for a number of days of this cheese."
        return f"{clock.verdict.reason} ({clock.rule.clause})"


def clock_of(premises: Premises, lot_id: UUID, at: datetime) -> BatchClock:
    """The clock of one batch at a moment. Lot.DoesNotExist for a lot that is not of these premises."""
    lot = lots_of(premises).get(pk=lot_id)
    return clocks_of(premises, [lot], at)[lot.pk]


def clocks_of(premises: Premises, lots: Iterable[Lot], at: datetime) -> Mapping[UUID, BatchClock]:
    """The clocks of several batches of the premises, in a constant number of queries."""
    lots = list(lots)
    if not lots:
        return {}
    rules = ageing_rules(premises, lots, premises.local_date(at))
    moves = moves_of(lot.pk for lot in lots)
    rooms = [move.place for of_lot in moves.values() for move in of_lot if move.place is not None]
    since = min(lot.begun_at for lot in lots) - LOOK_BACK
    by_room = room_records(premises, [room for room in rooms if room.kind in LODGING], since)
    by_batch = batch_records(premises, lots)
    return {
        lot.pk: _clock(lot, at, rules[lot.pk], _until(moves[lot.pk], at), by_room, by_batch.get(lot.pk, []))
        for lot in lots
    }


# A reading taken at a vat is of the milk or the washing water, not of the cheese's surroundings
LODGING = (Place.Kind.RIPENING_ROOM, Place.Kind.COLD_STORE)


def _until(moves: Sequence[LotEvent], at: datetime) -> list[Stay]:
    return stays_of([move for move in moves if move.occurred_at <= at])


def _clock(
    lot: Lot,
    at: datetime,
    rules: Sequence[AgeingRule],
    stays: list[Stay],
    by_room: Mapping[str, Sequence[RoomRecord]],
    own: Sequence[RoomRecord],
) -> BatchClock:
    records = {stay.room: [*by_room.get(stay.room, ()), *own] for stay in stays}
    counted_to = _counted_to(stays, records, at)
    clocks = [
        ageing_clock(rule, lot.begun_at, stays, records, as_of=counted_to if _asks_for_proof(rule) else at)
        for rule in rules
    ]
    clocks.sort(key=lambda clock: clock.earliest_release_at or at, reverse=True)
    return BatchClock(lot, at, counted_to if any(map(_asks_for_proof, rules)) else at, tuple(clocks))


def _asks_for_proof(rule: AgeingRule) -> bool:
    return rule.lowest_c is not None or rule.highest_c is not None


def _counted_to(stays: Sequence[Stay], records: Mapping[str, Sequence[RoomRecord]], at: datetime) -> datetime:
    """The last reading where the batch is now, while the next one may still come in time."""
    if not stays or stays[-1].ended_at is not None:
        return at
    stay = stays[-1]
    seen = [_seen_to(record, at) for record in records.get(stay.room, ()) if record.unfit is None]
    return max([max(one, stay.began_at) for one in seen if one is not None], default=at)


def _seen_to(record: RoomRecord, at: datetime) -> datetime | None:
    """The last reading up to a moment; the moment itself where a later one proves it; None when it is too long ago."""
    t = record.trace.t_s[np.isfinite(record.trace.channels[record.channel])]
    now_s, gap_s = (at - record.trace.started_at).total_seconds(), record.max_gap_s or 0.0
    before, after = t[t <= now_s], t[t > now_s]
    if not before.size or now_s - before[-1] > gap_s:
        return None
    is_proven = after.size and after[0] - before[-1] <= gap_s
    return at if is_proven else record.trace.at(before[-1])

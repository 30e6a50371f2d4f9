"""What could grow in a batch: composition, the published tables, and growth over what really happened to it.

All of it is advice: it is shown with its range of validity, is no ruling, and takes part in none.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from batches.laboratory.models import SampleTest
from batches.laboratory.queries import Line, lines_of_lots
from batches.ripening.room_records import batch_records, room_records
from batches.ripening.stays import stays_of
from haccp.checks.models import Reading
from haccp.lots.models import Lot
from haccp.lots.queries import revision_ids_of
from haccp.lots.stays import moves_of
from haccp.plan.models import Measure, ProductDescription
from haccp.premises.models import Place, Premises
from haccp.science.ageing import RoomRecord, Stay
from haccp.science.composition.growth_support import Tcs, food_code_table_b, listeria_class
from haccp.science.composition.salt import salt_in_moisture, salt_in_water_phase
from haccp.science.composition.water_activity import WaterActivity, from_salt
from haccp.science.errors import InputError
from haccp.science.growth.history import GrowthAdvice, grow
from haccp.science.growth.organisms import ORGANISMS
from haccp.science.trace import FloatArray
from haccp.science.units import spell_duration

LODGING = (Place.Kind.RIPENING_ROOM, Place.Kind.COLD_STORE)
STEP_S = 900.0
LONGEST_S = 400 * 86_400.0


@dataclass(frozen=True, slots=True)
class Known:
    """A number with where it is from: "laboratory, S26-004", "reading of 5 Nov", "the plan's description"."""

    value: float
    source: str


@dataclass(frozen=True, slots=True)
class Composition:
    """What is known of the cheese; None where nothing is. aw_by_salt: computed from salt and moisture."""

    moisture: Known | None
    salt: Known | None
    ph: Known | None
    aw: Known | None
    salt_in_moisture: float | None
    salt_in_water: float | None
    aw_by_salt: WaterActivity | None

    @property
    def aw_taken(self) -> Known | None:
        """Measured before computed before stated; computed only within the range of its equation."""
        if self.aw is not None and not self.aw.source.startswith("the plan"):
            return self.aw
        if self.aw_by_salt is not None and self.aw_by_salt.within_range:
            return Known(self.aw_by_salt.value, "computed from salt and moisture")
        return self.aw


@dataclass(frozen=True, slots=True)
class Judgement:
    """By a published table: what it says, in words, and its source."""

    words: str
    source: str


@dataclass(frozen=True, slots=True)
class GrowthPicture:
    """t_s from origin, °C, pH: the history as it was taken. assumed: sentences on what nobody measured."""

    origin: datetime
    t_s: FloatArray
    temperature_c: FloatArray
    ph: FloatArray
    aw: float


@dataclass(frozen=True, slots=True)
class Growth:
    composition: Composition
    judgements: tuple[Judgement, ...]
    advice: tuple[GrowthAdvice, ...]
    history: GrowthPicture | None
    assumed: tuple[str, ...]
    missing: tuple[str, ...]


def growth_of(premises: Premises, lot: Lot, at: datetime) -> Growth:
    """In a constant number of queries, and one for each logger's file of its rooms."""
    readings = _readings(lot, at)
    composition = _composition(lot, readings)
    judgements, missing = _judged(composition)
    assumed: list[str] = []
    history = _history(premises, lot, at, readings, composition, assumed, missing)
    advice = _advice(history, missing) if history is not None else ()
    return Growth(composition, tuple(judgements), advice, history, tuple(assumed), tuple(missing))


def _readings(lot: Lot, at: datetime) -> dict[str, list[Reading]]:
    """Quantity -> what was read of the batch itself, in order. One query."""
    found: dict[str, list[Reading]] = {"ph": [], "water_activity": [], "salt": [], "moisture": []}
    rows = (
        Reading.objects.filter(
            record__lot=lot,
            record__amended_by__isnull=True,
            record__observed_at__lte=at,
            record__instrument_unfit="",
            measure__kind=Measure.Kind.NUMBER,
            measure__quantity__in=tuple(found),
            value_si__isnull=False,
        )
        .select_related("record", "measure")
        .order_by("record__observed_at")
    )
    for row in rows:
        found[row.measure.quantity].append(row)
    return found


def _composition(lot: Lot, readings: dict[str, list[Reading]]) -> Composition:
    lines = lines_of_lots([lot]).get(lot.pk, [])
    stated = _stated(lot)

    def known(quantity: str, attribute: str) -> Known | None:
        measured = _measured(lines, quantity)
        if measured is not None:
            return measured
        if readings[quantity]:
            last = readings[quantity][-1]
            day = lot.premises.local_date(last.record.observed_at)
            return Known(last.value_si or 0.0, f"read on {day.day} {day:%b}")
        value = getattr(stated, attribute, None) if stated is not None else None
        return None if value is None else Known(float(value), "the plan's description of the cheese")

    moisture, salt = known("moisture", "moisture_percent"), known("salt", "salt_percent")
    in_moisture = in_water = None
    activity: WaterActivity | None = None
    if moisture is not None and salt is not None:
        try:
            in_moisture = salt_in_moisture(salt.value, moisture.value)
            in_water = salt_in_water_phase(salt.value, moisture.value)
            activity = from_salt(salt.value, moisture.value)
        except InputError:
            activity = None
    return Composition(
        moisture, salt, known("ph", "ph_high"), known("water_activity", "water_activity_high"), in_moisture, in_water,
        activity,
    )  # fmt: skip


def _measured(lines: Iterable[Line], quantity: str) -> Known | None:
    """The newest of the laboratory's values; of several units the highest, which lets more grow."""
    found: Known | None = None
    for line in lines:
        is_it = line.test.kind == SampleTest.Kind.QUANTITY and line.test.parameter == quantity
        values = line.result.facts.get("values_si", []) if is_it and line.result is not None else []
        if values:
            worst = min(values) if quantity == "salt" else max(values)
            found = Known(float(worst), f"{line.sample.laboratory}, {line.sample.code}")
    return found


def _stated(lot: Lot) -> ProductDescription | None:
    revision_id = revision_ids_of([lot])[lot.pk]
    return ProductDescription.objects.filter(revision=revision_id, product=lot.product_id).first()


def _judged(composition: Composition) -> tuple[list[Judgement], list[str]]:
    ph, aw = composition.ph, composition.aw_taken
    missing = []
    if ph is None:
        missing.append("No pH of the cheese is known: read it, or have it measured.")
    if aw is None:
        missing.append("No water activity is known: have it measured, or salt and moisture.")
    if ph is None or aw is None:
        return [], missing
    able = listeria_class(ph.value, aw.value)
    table = food_code_table_b(ph.value, aw.value)
    listeria = (
        "Listeria monocytogenes is taken as able to grow in it, unless science shows otherwise."
        if able == "able"
        else "Listeria monocytogenes is taken as unable to grow in it."
    )
    tcs = (
        "It may be kept without control of time and temperature."
        if table is Tcs.NOT_NEEDED
        else "It needs control of time and temperature until an assessment of the product shows otherwise."
    )
    given = f"pH {ph.value:.2f} and water activity {aw.value:.3f}"
    return [
        Judgement(f"{given}: {listeria}", "Regulation (EC) 2073/2005, Annex I, chapter 1, footnote 8"),
        Judgement(f"{given}: {tcs}", "FDA Food Code 1-201.10, interaction table B"),
    ], missing


def _history(
    premises: Premises,
    lot: Lot,
    at: datetime,
    readings: dict[str, list[Reading]],
    composition: Composition,
    assumed: list[str],
    missing: list[str],
) -> GrowthPicture | None:
    ph, aw = composition.ph, composition.aw_taken
    if ph is None or aw is None:
        return None
    moves = [move for move in moves_of([lot.pk])[lot.pk] if move.occurred_at <= at]
    rooms = [move.place for move in moves if move.place is not None and move.place.kind in LODGING]
    by_room = room_records(premises, rooms, lot.begun_at)
    own = batch_records(premises, [lot]).get(lot.pk, [])
    t, temperature = _temperatures(lot.begun_at, at, stays_of(moves), by_room, own)
    if t.size < 2:
        missing.append("No temperature of the batch or of its rooms was recorded yet.")
        return None
    if float(t[0]) > 3600:
        assumed.append(f"The first {spell_duration(float(t[0]))} are not counted: nothing was read before.")
    assumed.append("Temperature: of the batch where it was read, else the warmest that was recorded in its room.")
    ph_at = [((one.record.observed_at - lot.begun_at).total_seconds(), one.value_si or 0.0) for one in readings["ph"]]
    if ph_at:
        values = np.interp(t, [x for x, _y in ph_at], [y for _x, y in ph_at])
        assumed.append("pH: straight lines between the readings; before the first and after the last, as they stand.")
    else:
        values = np.full(t.size, ph.value)
        assumed.append(f"pH: {ph.value:.2f} throughout ({ph.source}); while the milk turned sour it was higher.")
    assumed.append(f"Water activity: {aw.value:.3f} throughout ({aw.source}); before salting it was higher.")
    return GrowthPicture(lot.begun_at, t, temperature, values, aw.value)


def _temperatures(
    begun_at: datetime,
    at: datetime,
    stays: Sequence[Stay],
    by_room: dict[str, list[RoomRecord]],
    own: Sequence[RoomRecord],
) -> tuple[FloatArray, FloatArray]:
    """Samples of the batch and of its rooms while it was there; of several thermometers the warmest at a time."""
    end_s = min((at - begun_at).total_seconds(), LONGEST_S)
    found: dict[float, float] = {}

    def add(record: RoomRecord, from_s: float, to_s: float) -> None:
        shift = (record.trace.started_at - begun_at).total_seconds()
        values = record.trace.channels[record.channel]
        t = record.trace.t_s + shift
        inside = np.isfinite(values) & (t >= from_s) & (t <= to_s)
        # A logger's samples a minute are more than growth over weeks can tell
        kept = np.round(t[inside] / STEP_S) * STEP_S if inside.sum() > 2000 else t[inside]
        for moment, value in zip(kept.tolist(), values[inside].tolist(), strict=True):
            found[moment] = max(value, found.get(moment, -99.0))

    for record in own:
        add(record, 0.0, end_s)
    for stay in stays:
        from_s = max((stay.began_at - begun_at).total_seconds(), 0.0)
        to_s = end_s if stay.ended_at is None else min((stay.ended_at - begun_at).total_seconds(), end_s)
        for record in by_room.get(stay.room, ()):
            add(record, from_s, to_s)
    times = sorted(found)
    return np.array(times), np.array([found[moment] for moment in times])


def _advice(history: GrowthPicture, missing: list[str]) -> tuple[GrowthAdvice, ...]:
    aw = np.full(history.t_s.size, history.aw)
    try:
        return tuple(
            grow(organism, history.t_s, history.temperature_c, history.ph, aw, max_gap_s=30 * 3600.0)
            for organism in ORGANISMS.values()
        )
    except InputError as error:
        missing.append(str(error))
        return ()

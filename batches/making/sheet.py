"""The make sheet: each stage of the procedure as it stands now, computed from what is stored alone.

Timers are not kept anywhere: what is left of a stage follows from when it began and how long it should take, so that a
closed browser, another device or a night without power change nothing.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from batches.making.dosing import ScaledDose, scaled_doses
from batches.making.in_doubt import say_doubts
from batches.making.models import IngredientUse, Make, ProcedureStage, StageKind, StageMark, StageReading
from batches.making.press import PressLoad, press_load
from batches.making.whey import IN_THE_VAT
from haccp.calibration import in_force
from haccp.science.errors import InputError
from haccp.science.making.flocculation import SetTime, set_time
from haccp.science.units import spell_duration

What = StageMark.What


@dataclass(frozen=True, slots=True)
class StageState:
    """began_at, done_at: None until then. ends_at: when it should be over, by its target, or by the set time for the
    cut. marks, readings, uses: those that count, in order of time. salt_kg: wanted, once the curd is weighed."""

    stage: ProcedureStage
    began_at: datetime | None
    done_at: datetime | None
    is_skipped: bool
    ends_at: datetime | None
    marks: tuple[StageMark, ...]
    readings: tuple[StageReading, ...]
    uses: tuple[IngredientUse, ...]
    doses: tuple[ScaledDose, ...]
    press: PressLoad | None
    curd_kg: float | None
    salt_wanted_kg: float | None
    salted_percent: float | None
    set_time: SetTime | None

    @property
    def is_over(self) -> bool:
        return self.done_at is not None or self.is_skipped

    @property
    def is_running(self) -> bool:
        return self.began_at is not None and not self.is_over

    @property
    def took_s(self) -> float | None:
        if self.began_at is None or self.done_at is None:
            return None
        return (self.done_at - self.began_at).total_seconds()

    @property
    def is_outside(self) -> bool:
        """A reading outside the stage's limits, or a stage that took too short or too long."""
        return any(one.ruling == "breached" for one in self.readings) or bool(self.time_said)

    @property
    def time_said(self) -> str:
        """A sentence where the stage took shorter or longer than the procedure allows."""
        took, low, high = self.took_s, self.stage.duration_low_s, self.stage.duration_high_s
        if took is None:
            return ""
        if low is not None and took < low:
            return f"It took {spell_duration(took)}; at least {spell_duration(low)} are asked for."
        if high is not None and took > high:
            return f"It took {spell_duration(took)}; at most {spell_duration(high)} are allowed."
        return ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """stages: in order, empty where the product had no procedure."""

    make: Make
    at: datetime
    milk_l: float
    stages: tuple[StageState, ...]

    @property
    def current(self) -> StageState | None:
        """The last that runs; else the first to come after the last that was noted; else the first passed over."""
        running = [one for one in self.stages if one.is_running]
        if running:
            return running[-1]
        reached = max((i for i, one in enumerate(self.stages) if one.is_over), default=-1)
        to_come = [one for one in (*self.stages[reached + 1 :], *self.stages[: reached + 1]) if not one.is_over]
        return to_come[0] if to_come else None

    def of(self, stage_id: UUID) -> StageState | None:
        return next((one for one in self.stages if one.stage.pk == stage_id), None)

    @property
    def outside(self) -> tuple[StageState, ...]:
        return tuple(one for one in self.stages if one.is_outside)


def sheet_of(make: Make, now: datetime) -> Sheet:
    """In a constant number of queries."""
    milk_l = sum(
        make.lot.links_in.filter(parent__kind__in=IN_THE_VAT, unit="L").values_list("amount", flat=True),
        start=0.0,
    )
    if make.procedure_id is None:
        return Sheet(make, now, milk_l, ())
    stages = list(ProcedureStage.objects.filter(procedure=make.procedure_id).prefetch_related("doses"))
    marks: dict[UUID, list[StageMark]] = defaultdict(list)
    counted = make.marks.filter(corrected_by__isnull=True).select_related("recorded_by")
    for mark in counted.prefetch_related("readings", "readings__instrument").order_by("at", "recorded_at"):
        marks[mark.stage_id].append(mark)
    uses: dict[UUID | None, list[IngredientUse]] = defaultdict(list)
    for use in make.uses.select_related("link__parent__ingredient", "dose"):
        uses[use.stage_id].append(use)
    doses = scaled_doses(make.lot.premises, stages, milk_l, now)
    _name_electrodes([mark for own in marks.values() for mark in own])
    say_doubts(reading for own in marks.values() for mark in own for reading in mark.readings.all())
    rennet_at = _first(marks, stages, StageKind.RENNET)
    floc = _set_time(stages, marks, rennet_at)
    curd_kg: float | None = None
    states = []
    for stage in stages:
        own = marks[stage.pk]
        readings = tuple(reading for mark in own for reading in mark.readings.all())
        curd_kg = next((r.value_si for r in reversed(readings) if r.what == StageReading.What.CURD), curd_kg)
        states.append(
            _state(
                stage, own, readings, tuple(uses[stage.pk]), tuple(doses.get(stage.pk, ())), curd_kg, floc, rennet_at
            )
        )
    return Sheet(make, now, milk_l, tuple(states))


def _state(
    stage: ProcedureStage,
    marks: Sequence[StageMark],
    readings: tuple[StageReading, ...],
    uses: tuple[IngredientUse, ...],
    doses: tuple[ScaledDose, ...],
    curd_kg: float | None,
    floc: SetTime | None,
    rennet_at: datetime | None,
) -> StageState:
    began_at = next((mark.at for mark in marks if mark.what == What.BEGUN), None)
    done_at = next((mark.at for mark in reversed(marks) if mark.what == What.DONE), None)
    ends_at = None
    if began_at is not None and stage.duration_target_s is not None:
        ends_at = began_at + timedelta(seconds=stage.duration_target_s)
    if stage.kind == StageKind.CUT and floc is not None and rennet_at is not None:
        ends_at = rennet_at + timedelta(seconds=floc.total_s)
    salt_kg = sum((use.link.amount for use in uses if _is_salt(use)), start=0.0)
    return StageState(
        stage=stage,
        began_at=began_at,
        done_at=done_at,
        is_skipped=done_at is None and any(mark.what == What.SKIPPED for mark in marks),
        ends_at=ends_at,
        marks=tuple(marks),
        readings=readings,
        uses=uses,
        doses=doses,
        press=press_load(stage, readings) if stage.kind == StageKind.PRESS else None,
        curd_kg=curd_kg if stage.kind in (StageKind.SALT, StageKind.PRESS, StageKind.MOULD) else None,
        salt_wanted_kg=None if stage.salt_percent is None or curd_kg is None else curd_kg * stage.salt_percent / 100,
        salted_percent=salt_kg / curd_kg * 100 if salt_kg and curd_kg else None,
        set_time=floc if stage.kind in (StageKind.FLOCCULATION, StageKind.CUT) else None,
    )


def _name_electrodes(marks: Iterable[StageMark]) -> None:
    """Says of each reading of pH on which slope and offset of its electrode it rests."""
    read = [
        (mark, reading) for mark in marks for reading in mark.readings.all() if reading.what == StageReading.What.PH
    ]
    found = in_force.electrodes_for(
        {reading.pk: (reading.instrument_id, mark.at, mark.recorded_at) for mark, reading in read}
    )
    for _mark, reading in read:
        reading.electrode = in_force.words(found[reading.pk]) if reading.pk in found else ""


def _is_salt(use: IngredientUse) -> bool:
    ingredient = getattr(use.link.parent, "ingredient", None)
    return ingredient is not None and ingredient.kind == "salt"


def _first(marks: dict[UUID, list[StageMark]], stages: Iterable[ProcedureStage], kind: str) -> datetime | None:
    """When a stage of this kind first began, or was done where nobody said that it began."""
    found = [
        mark.at
        for stage in stages
        if stage.kind == kind
        for mark in marks[stage.pk]
        if mark.what in (What.BEGUN, What.DONE)
    ]
    return min(found, default=None)


def _set_time(
    stages: Iterable[ProcedureStage], marks: dict[UUID, list[StageMark]], rennet_at: datetime | None
) -> SetTime | None:
    """None until flocculation was seen, and where its time cannot be one."""
    for stage in stages:
        if stage.kind != StageKind.FLOCCULATION or stage.multiplier is None or rennet_at is None:
            continue
        seen = [mark.at for mark in marks[stage.pk] if mark.what == What.DONE]
        if seen:
            try:
                return set_time((seen[-1] - rennet_at).total_seconds(), stage.multiplier)
            except InputError:
                return None
    return None

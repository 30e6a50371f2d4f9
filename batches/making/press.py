"""The load of a press as force and pressure on the cheese."""

from collections.abc import Sequence
from dataclasses import dataclass

from batches.making.models import ProcedureStage, StageReading
from haccp.science.making.pressing import force_n, pressure_pa, round_area_m2
from haccp.science.units import show


@dataclass(frozen=True, slots=True)
class PressLoad:
    """mass_kg: hung on the press, as weighed or else as the procedure says. advantage: of the
    lever, 1 without one. pressure_pa: None without a face."""

    mass_kg: float
    is_weighed: bool
    advantage: float
    force_n: float
    pressure_pa: float | None

    @property
    def words(self) -> str:
        lever = f" by a lever of {self.advantage:g} to 1" if self.advantage != 1.0 else ""
        found = f"{show('mass', self.mass_kg, decimals=1)} on the press{lever}: {self.force_n:.0f} N"
        return found if self.pressure_pa is None else f"{found}, {self.pressure_pa / 1000:.1f} kPa on the cheese"


def press_load(stage: ProcedureStage, readings: Sequence[StageReading]) -> PressLoad | None:
    """None where neither the procedure nor anybody says what hangs on it."""
    weighed = [r.value_si for r in readings if r.what == StageReading.What.PRESS]
    mass_kg = weighed[-1] if weighed else stage.press_kg
    if not mass_kg:
        return None
    advantage = stage.lever_advantage or 1.0
    force = force_n(mass_kg, advantage=advantage)
    pressure = None
    if stage.face_diameter_m:
        pressure = pressure_pa(force, round_area_m2(stage.face_diameter_m, cheeses=stage.cheeses_side_by_side or 1))
    return PressLoad(mass_kg, bool(weighed), advantage, force, pressure)

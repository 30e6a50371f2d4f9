"""Doses scaled to the milk in the vat, in metric and spoon measures, and the lots that they can be taken from."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from batches.intake.models import IngredientLot
from batches.intake.standing import standings
from batches.intake.stock import SI_UNIT, ingredients_of, show_amount
from batches.making.models import Dose, ProcedureStage
from haccp.premises.models import Premises
from haccp.science.errors import InputError
from haccp.science.making.doses import in_spoons, in_spoons_of_powder, scale_dose
from haccp.science.making.rennet import rennet_for
from haccp.science.units import to_si

BY_ACTIVITY = "IMCU"
DOSE_UNITS = {"g": "mass", "kg": "mass", "mL": "volume", "L": "volume", "pc": "pieces", BY_ACTIVITY: "volume"}


@dataclass(frozen=True, slots=True)
class ScaledDose:
    """amount_si in the SI unit of quantity; None where the strength of the rennet is not known. spoons: "" where no
    spoon measures it. lots: usable lots of the kind, the first to expire first."""

    dose: Dose
    quantity: str
    amount_si: float | None
    spoons: str
    problem: str
    lots: tuple[IngredientLot, ...]

    @property
    def words(self) -> str:
        return "" if self.amount_si is None else show_amount(self.quantity, self.amount_si)

    @property
    def unit(self) -> str:
        """That the amount is typed in."""
        return {"mass": "g", "volume": "mL"}.get(self.quantity, SI_UNIT[self.quantity])


def scaled_doses(
    premises: Premises, stages: Sequence[ProcedureStage], milk_l: float, now: datetime
) -> dict[UUID, list[ScaledDose]]:
    """Stage -> its doses. In a constant number of queries; none where no stage has a dose."""
    doses = [dose for stage in stages for dose in stage.doses.all()]
    if not doses:
        return {}
    lots = usable_lots(premises, {dose.ingredient_kind for dose in doses}, now)
    found: dict[UUID, list[ScaledDose]] = defaultdict(list)
    for dose in doses:
        found[dose.stage_id].append(_scaled(dose, milk_l, lots[dose.ingredient_kind]))
    return found


def usable_lots(premises: Premises, kinds: set[str], now: datetime) -> dict[str, list[IngredientLot]]:
    """Accepted lots that there is still some of, by kind, the first to expire first."""
    rows = list(ingredients_of(premises).filter(kind__in=kinds, left_si__gt=0))
    known = standings(premises, [row.lot for row in rows], now)
    found: dict[str, list[IngredientLot]] = defaultdict(list)
    for row in sorted(rows, key=lambda row: (row.expires_on or date.max, row.lot.begun_at)):
        if known[row.pk].is_usable:
            found[row.kind].append(row)
    return found


def _scaled(dose: Dose, milk_l: float, lots: Sequence[IngredientLot]) -> ScaledDose:
    quantity = DOSE_UNITS[dose.unit]
    named = [row for row in lots if dose.name and dose.name.lower() in row.name.lower()]
    offered = tuple(named or [row for row in lots if row.quantity == quantity] or lots)
    problem, amount_si, spoons = "", None, ""
    try:
        if dose.unit == BY_ACTIVITY:
            strengths = [row.strength for row in offered if row.strength and row.strength_unit == "IMCU/mL"]
            if strengths:
                amount_si = to_si("volume", rennet_for(milk_l, dose.amount / dose.per_milk_l, strengths[0]), "mL")
            else:
                problem = "No rennet in stock states its strength in IMCU/mL, so its dose cannot be worked out."
        else:
            amount_si = to_si(quantity, scale_dose(dose.amount, dose.per_milk_l, milk_l), dose.unit)
    except InputError as error:
        problem = str(error)
    if amount_si:
        spoons = _spoons(quantity, amount_si, offered)
    return ScaledDose(dose, quantity, amount_si, spoons, problem, offered)


def _spoons(quantity: str, amount_si: float, lots: Sequence[IngredientLot]) -> str:
    """In words, with how far the spoon is off where that is more than a twentieth; "" where no spoon can."""
    try:
        if quantity == "volume" and amount_si <= 0.5:
            measure = in_spoons(amount_si * 1000)
        elif quantity == "mass" and lots and lots[0].bulk_density_g_per_ml:
            measure = in_spoons_of_powder(amount_si * 1000, lots[0].bulk_density_g_per_ml)
        else:
            return ""
    except InputError as error:
        return error.problem
    off = f" ({measure.error_percent:+.0f} %)".replace("-", "−") if abs(measure.error_percent) >= 5 else ""
    return f"{measure.text}{off}"

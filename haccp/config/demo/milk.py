"""Milk twice a day: in the morning for the make of the day, in the evening for that of the next."""

from datetime import date, datetime, timedelta
from uuid import UUID

from batches.intake import actions as intake
from haccp.config.demo.agenda import Act, Agenda
from haccp.config.demo.dairy import Dairy
from haccp.config.demo.incidents import made_on
from haccp.config.demo.local_days import MONDAY, at, chance
from haccp.plan.models import MilkSpecies

SPECIES = {"RE": MilkSpecies.EWE, "LC": MilkSpecies.GOAT, "AS": MilkSpecies.COW}
SOURCES = {
    MilkSpecies.EWE: "own flock",
    MilkSpecies.COW: "own herd",
    MilkSpecies.GOAT: "goats of Fern Hatherley, next farm",
}
LITRES = {MilkSpecies.EWE: 84.0, MilkSpecies.GOAT: 96.0, MilkSpecies.COW: 172.0}


def milk_id(dairy: Dairy, day: date, part: str) -> UUID:
    return dairy.new_id("milk", day, part)


def lots_for_make(dairy: Dairy, day: date) -> list[UUID]:
    """The evening milk of the day before and the morning's; on Mondays Sunday's morning milk too."""
    before = day - timedelta(days=1)
    lots = [milk_id(dairy, before, "evening"), milk_id(dairy, day, "morning")]
    return [milk_id(dairy, before, "morning"), *lots] if day.weekday() == MONDAY else lots


def add_milk(dairy: Dairy, agenda: Agenda, day: date) -> None:
    """Adds the two deliveries of a day to the agenda."""
    for part, hour, minute, make_day in (
        ("morning", 6, 50, day),
        ("evening", 18, 10, day + timedelta(days=1)),
    ):
        received_at = at(day, hour, minute) + timedelta(minutes=chance("milk", day, part).randint(0, 20))
        species = SPECIES[made_on(make_day) or "RE"]  # Sunday's milk waits for Monday's hard cheese
        agenda.add(received_at + timedelta(minutes=3), _delivery(dairy, day, part, species, received_at))


def _delivery(dairy: Dairy, day: date, part: str, species: MilkSpecies, received_at: datetime) -> Act:
    def receive(now: datetime) -> None:
        litres = LITRES[species] * chance("litres", day, part).uniform(0.9, 1.08)
        intake.milk_receive(
            scope=dairy.staff.maker if part == "morning" else dairy.staff.helper,
            lot_id=milk_id(dairy, day, part),
            species=species,
            source=SOURCES[species],
            volume=f"{litres:.0f}",
            volume_unit="L",
            received_at=received_at,
            place_id=dairy.places.tank.id,
            now=now,
        )

    return receive

"""The library's law behind the plan's interface for legal floors."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from haccp.plan.findings.floors import AgeingFloor, HeatFloor, PublishedFloors
from haccp.plan.library.entries import Value
from haccp.plan.library.library import floors
from haccp.plan.library.periods import DAY_S
from haccp.science.units import to_si


@dataclass(frozen=True, slots=True)
class LibraryFloors:
    """Ageing by the values of the library in force on a day.

    Heat stays with haccp.science.heat.legal, by which recordings are judged too; a test holds the two together.
    titles: id of a document -> how it is cited.
    """

    values: tuple[Value, ...]
    titles: dict[str, str]
    on: dt.date

    def heat(
        self, *, jurisdiction: str, treatment: str, species: str, milk_fat_percent: float
    ) -> tuple[HeatFloor, ...]:
        return PublishedFloors().heat(
            jurisdiction=jurisdiction, treatment=treatment, species=species, milk_fat_percent=milk_fat_percent
        )

    def ageing(self, *, jurisdiction: str, treatment: str, species: str, family: str = "") -> AgeingFloor | None:
        """The strictest that binds. A value that hangs on more than the product's identity is left to the questions."""
        binding = self.every_ageing(jurisdiction=jurisdiction, treatment=treatment, species=species, family=family)
        return max(binding, key=lambda one: one.days, default=None)

    def every_ageing(
        self, *, jurisdiction: str, treatment: str, species: str, family: str = ""
    ) -> tuple[AgeingFloor, ...]:
        """All that bind, those of equal days and temperature once: a cheese meets every one of them."""
        binding = [
            value
            for value in floors(self.values, jurisdiction, species, treatment, "ageing", self.on)
            if not value.when and _is_of_family(value, family)
        ]
        found = {(one.days, one.temperature_c): one for value in reversed(binding) for one in self._floor(value)}
        return tuple(sorted(found.values(), key=lambda one: (-one.days, one.clause)))

    def _floor(self, value: Value) -> Iterable[AgeingFloor]:
        age = next((part for part in value.parts if part.name == "age" and part.low is not None), None)
        storage = next((part for part in value.parts if part.name == "storage"), None)
        if age is not None and age.low is not None:
            # From the number as printed: the stored 1.6667 °C is a little more than the 35 °F that must still count
            low = to_si("temperature", storage.published[0], storage.unit) if storage else None
            clause = f"{self.titles.get(value.document, value.document)}, {value.clause}"
            yield AgeingFloor(int(age.low / DAY_S), low, clause)


def _is_of_family(value: Value, family: str) -> bool:
    """A family that the library does not know is held to every value."""
    name = family.strip().lower().replace(" ", "_").replace("-", "_")
    return not value.families or name in value.families or name not in FAMILIES


FAMILIES = frozenset(
    {"fresh_lactic", "soft_ripened", "washed_rind", "blue", "semi_hard", "hard", "brined", "whey_cheese"}
)

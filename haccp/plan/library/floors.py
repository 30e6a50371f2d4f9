"""The library's law behind the plan's interface for legal floors."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from haccp.plan.findings.floors import AgeingFloor, Ban, HeatFloor, PublishedFloors
from haccp.plan.library.conditions import Answer, applies
from haccp.plan.library.entries import Value
from haccp.plan.library.library import floors, within
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

    def ageing(
        self, *, jurisdiction: str, treatment: str, species: str, family: str = "", herds_free: bool | None = None
    ) -> AgeingFloor | None:
        """The strictest that binds; what hangs on an answer that the plan does not give binds nobody."""
        binding = self.every_ageing(
            jurisdiction=jurisdiction, treatment=treatment, species=species, family=family, herds_free=herds_free
        )
        return max(binding, key=lambda one: one.days, default=None)

    def every_ageing(
        self, *, jurisdiction: str, treatment: str, species: str, family: str = "", herds_free: bool | None = None
    ) -> tuple[AgeingFloor, ...]:
        """All that bind, those of equal days and temperature once: a cheese meets every one of them."""
        known = _known(species, treatment, family, herds_free)
        binding = [
            value
            for value in floors(self.values, jurisdiction, species, treatment, "ageing", self.on)
            if applies(value.when, known) and _is_of_family(value, family)
        ]
        found = {(one.days, one.temperature_c): one for value in reversed(binding) for one in self._floor(value)}
        return tuple(sorted(found.values(), key=lambda one: (-one.days, one.clause)))

    def bans(
        self, *, jurisdiction: str, treatment: str, species: str, family: str, herds_free: bool | None
    ) -> tuple[Ban, ...]:
        """A family that the library does not know is held to no ban of a family; its floors of age bind instead."""
        known = _known(species, treatment, family, herds_free)
        here = set(within(jurisdiction))
        return tuple(
            Ban(value.rule, self._clause(value), value.id)
            for value in self.values
            if value.forbids
            and here & set(value.jurisdictions)
            and value.is_in_force(self.on)
            and value.concerns(species, treatment)
            and (not value.families or family_key(family) in value.families)
            and applies(value.when, known)
        )

    def _clause(self, value: Value) -> str:
        known = "" if value.known == "read" else f" ({value.known.in_words})"
        return f"{self.titles.get(value.document, value.document)}, {value.clause}{known}"

    def _floor(self, value: Value) -> Iterable[AgeingFloor]:
        age = next((part for part in value.parts if part.name == "age" and part.low is not None), None)
        storage = next((part for part in value.parts if part.name == "storage"), None)
        if age is not None and age.low is not None:
            # From the number as printed: the stored 1.6667 °C is a little more than the 35 °F that must still count
            low = to_si("temperature", storage.published[0], storage.unit) if storage else None
            yield AgeingFloor(int(age.low / DAY_S), low, self._clause(value))


def _known(species: str, treatment: str, family: str, herds_free: bool | None) -> dict[str, Answer]:
    known: dict[str, Answer] = {"species": species, "treatment": treatment, "family": family_key(family)}
    return known if herds_free is None else known | {"herd_free": herds_free}


def family_key(family: str) -> str:
    """The library's key of a family as a producer words it: “Fresh lactic” is fresh_lactic."""
    return family.strip().lower().replace(" ", "_").replace("-", "_")


def _is_of_family(value: Value, family: str) -> bool:
    """A family that the library does not know is held to every value."""
    name = family_key(family)
    return not value.families or name in value.families or name not in FAMILIES


FAMILIES = frozenset(
    {"fresh_lactic", "soft_ripened", "washed_rind", "blue", "semi_hard", "hard", "brined", "whey_cheese"}
)

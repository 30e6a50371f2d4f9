"""The library's law behind the plan's interface for legal floors."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from haccp.plan.findings.floors import AgeingFloor, Ban, HeatFloor, PublishedFloors
from haccp.plan.library.conditions import Answer, applies
from haccp.plan.library.entries import Value
from haccp.plan.library.library import floors, within
from haccp.plan.library.periods import DAY_S


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
        known = _known(species, treatment, family, herds_free)
        binding = [
            value
            for value in floors(self.values, jurisdiction, species, treatment, "ageing", self.on)
            if applies(value.when, known) and _is_of_family(value, family)
        ]
        return max((floor for value in binding for floor in self._floor(value)), key=lambda one: one.days, default=None)

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
            low = storage.low if storage else None
            yield AgeingFloor(int(age.low / DAY_S), None if low is None else round(low, 1), self._clause(value))


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

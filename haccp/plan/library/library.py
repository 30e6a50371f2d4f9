"""The library as a whole, and what can be asked of it."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from haccp.plan.library.conditions import Answer, applies
from haccp.plan.library.entries import (
    ControlEntry,
    Document,
    Family,
    Force,
    HazardEntry,
    Occurrence,
    Question,
    StepEntry,
    Value,
)


@dataclass(frozen=True, slots=True)
class HazardAtStep:
    hazard: HazardEntry
    occurrence: Occurrence


@dataclass(frozen=True, slots=True)
class Library:
    """Entries by id, in the order of the files. sha256: of all entries as written."""

    name: str
    number: int
    dated: dt.date
    sha256: str
    documents: Mapping[str, Document]
    values: Mapping[str, Value]
    hazards: Mapping[str, HazardEntry]
    steps: Mapping[str, StepEntry]
    controls: Mapping[str, ControlEntry]
    families: Mapping[str, Family]
    questions: Mapping[str, Question]

    def values_of(self, subject: str, jurisdiction: str) -> tuple[Value, ...]:
        """Every value of a subject, superseded ones too, that a jurisdiction or the one above it published."""
        return values_of(self.values.values(), subject, jurisdiction)

    def floors(
        self, jurisdiction: str, species: str, treatment: str, subject: str, at_date: dt.date
    ) -> tuple[Value, ...]:
        """The law that a plan may not be laxer than, on that day."""
        return floors(self.values.values(), jurisdiction, species, treatment, subject, at_date)

    def hazards_for(
        self,
        species: str,
        treatment: str,
        steps: Sequence[str],
        answers: Mapping[str, Answer] | None = None,
    ) -> tuple[HazardAtStep, ...]:
        """The hazards to consider at those steps (ids), in their order.

        answers: of the producer; without them, what depends on more than species and treatment is left out.
        """
        known = {**(answers or {}), "species": species, "treatment": treatment}
        found = [
            HazardAtStep(hazard, occurrence)
            for hazard in self.hazards.values()
            if not hazard.species or species in hazard.species
            for occurrence in hazard.at
            if occurrence.step in steps and applies(occurrence.when, known)
        ]
        return tuple(sorted(found, key=lambda item: steps.index(item.occurrence.step)))

    def citation(self, value: Value) -> str:
        """Document and clause, with how the text is known where it was not read."""
        title = f"{self.documents[value.document].title}, {value.clause}"
        return title if value.known == "read" else f"{title} ({value.known.in_words})"


def within(jurisdiction: str) -> tuple[str, ...]:
    """A jurisdiction and those whose law holds there too: US-MI lies within US."""
    parts = jurisdiction.split("-")
    return tuple("-".join(parts[:length]) for length in range(len(parts), 0, -1))


def values_of(values: Iterable[Value], subject: str, jurisdiction: str) -> tuple[Value, ...]:
    known = set(within(jurisdiction))
    return tuple(value for value in values if value.subject == subject and known & set(value.jurisdictions))


def floors(
    values: Iterable[Value], jurisdiction: str, species: str, treatment: str, subject: str, at_date: dt.date
) -> tuple[Value, ...]:
    return tuple(
        value
        for value in values_of(values, subject, jurisdiction)
        if value.force is Force.FLOOR and value.is_in_force(at_date) and value.concerns(species, treatment)
    )

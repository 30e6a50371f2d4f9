"""The entries of the library, typed. All are frozen; values are in the stored (SI) unit beside the published one."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from haccp.plan.library.conditions import Answer, When
from haccp.science.limit import Comparator, Limit


class Known(StrEnum):
    """How a text is known. Only READ is the text itself, or a copy of it."""

    READ = "read"
    SECONDARY = "secondary"  # somebody else's account or quotation was read
    MEMORY = "memory"  # neither: confirm it before relying on it

    @property
    def in_words(self) -> str:
        return {"read": "read", "secondary": "at second hand", "memory": "from memory"}[self.value]


class Force(StrEnum):
    FLOOR = "floor"  # law that a plan may not be laxer than
    CRITERION = "criterion"
    PERMISSION = "permission"
    GUIDANCE = "guidance"
    REFERENCE = "reference"


@dataclass(frozen=True, slots=True)
class Document:
    """in_force_from / in_force_to: None where the date was not read, or where it has no end. cited_as: lower-case words
    by which a typed citation of it is known."""

    id: str
    title: str
    edition: str
    jurisdiction: str
    known: Known
    how: str
    in_force_from: dt.date | None = None
    in_force_to: dt.date | None = None
    superseded_by: str = ""
    cited_as: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """One quantity of a value. low / high: stored unit. published: the number(s) as printed, in unit.

    period: ("months" | "years", count) for a span of the calendar; low is then its longest length in seconds.
    """

    name: str
    quantity: str
    comparator: Comparator
    low: float | None
    high: float | None
    published: tuple[float, ...]
    unit: str
    period: tuple[str, int] | None = None
    as_published: str = ""


@dataclass(frozen=True, slots=True)
class Sampling:
    """Of n units at most c may lie between m and M, none above M. absent_in: "25 g", and m, M are None."""

    organism: str
    n: int
    c: int
    stage: str
    m: float | None = None
    largest: float | None = None
    unit: str = ""
    absent_in: str = ""


@dataclass(frozen=True, slots=True)
class Band:
    """Bounds of a row or column; None where it is open."""

    from_: float | None = None
    above: float | None = None
    below: float | None = None
    up_to: float | None = None

    def holds(self, value: float) -> bool:
        return not (
            (self.from_ is not None and value < self.from_)
            or (self.above is not None and value <= self.above)
            or (self.below is not None and value >= self.below)
            or (self.up_to is not None and value > self.up_to)
        )


@dataclass(frozen=True, slots=True)
class Table:
    """cells[row][column]; quantities by key of haccp.science.units, bands in stored units."""

    row_quantity: str
    rows: tuple[Band, ...]
    column_quantity: str
    columns: tuple[Band, ...]
    cells: tuple[tuple[str, ...], ...]

    def cell(self, row_value: float, column_value: float) -> str:
        """What the table says; LookupError where no row or column holds the value."""
        row = next((i for i, band in enumerate(self.rows) if band.holds(row_value)), None)
        column = next((i for i, band in enumerate(self.columns) if band.holds(column_value)), None)
        if row is None or column is None:
            raise LookupError(f"The table has no cell for {row_value} and {column_value}.")
        return self.cells[row][column]


@dataclass(frozen=True, slots=True)
class ReadyLimit:
    """A critical limit that a plan can take over as it stands."""

    key: str
    statement: str
    limit: Limit


@dataclass(frozen=True, slots=True)
class Value:
    """A published value. species, treatments, families: empty for all. group: alternatives that belong together.

    when: answers under which it binds. forbids: where it binds, no plan for those answers can meet it.
    """

    id: str
    subject: str
    title: str
    jurisdictions: tuple[str, ...]
    document: str
    clause: str
    known: Known
    force: Force
    effective_from: dt.date | None = None
    effective_to: dt.date | None = None
    superseded_by: str = ""
    species: tuple[str, ...] = ()
    treatments: tuple[str, ...] = ()
    families: tuple[str, ...] = ()
    process: str = ""
    condition: str = ""
    group: str = ""
    rule: str = ""
    when: When = field(default_factory=dict)
    forbids: bool = False
    parts: tuple[Part, ...] = ()
    sampling: Sampling | None = None
    table: Table | None = None
    limits: tuple[ReadyLimit, ...] = ()
    note: str = ""

    def part(self, name: str) -> Part:
        """The part of that name; KeyError when there is none."""
        found = next((part for part in self.parts if part.name == name), None)
        if found is None:
            raise KeyError(f"{self.id} has no part {name}.")
        return found

    def limit(self, key: str) -> ReadyLimit:
        """The ready limit of that key; KeyError when there is none."""
        found = next((limit for limit in self.limits if limit.key == key), None)
        if found is None:
            raise KeyError(f"{self.id} has no limit {key}.")
        return found

    def is_in_force(self, day: dt.date) -> bool:
        """A date that was not read does not keep a value out."""
        begun = self.effective_from is None or self.effective_from <= day
        return begun and (self.effective_to is None or day <= self.effective_to)

    def concerns(self, species: str, treatment: str) -> bool:
        return (not self.species or species in self.species) and (not self.treatments or treatment in self.treatments)


@dataclass(frozen=True, slots=True)
class Source:
    document: str
    clause: str = ""
    known: Known = Known.MEMORY


@dataclass(frozen=True, slots=True)
class Occurrence:
    """A hazard at a step. controlled_by: ids of controls, of which a plan takes those that it holds."""

    step: str
    how: str
    likelihood: int
    significant: bool
    justification: str
    control_measure: str
    controlled_by: tuple[str, ...]
    when: When = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class HazardEntry:
    """removed_by: treatment of the milk -> whether it removes the hazard from the milk."""

    id: str
    name: str
    kind: str
    severity: int
    removed_by: Mapping[str, bool]
    sources: tuple[Source, ...]
    at: tuple[Occurrence, ...]
    species: tuple[str, ...] = ()
    removal_note: str = ""
    values: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Material:
    name: str
    when: When = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Rework:
    """What goes back from a step to an earlier one."""

    material: str
    to: str
    when: When = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class StepEntry:
    id: str
    name: str
    description: str
    when: When = field(default_factory=dict)
    inputs: tuple[Material, ...] = ()
    outputs: tuple[Material, ...] = ()
    rework: tuple[Rework, ...] = ()


@dataclass(frozen=True, slots=True)
class LimitChoice:
    """(when, value id, limit key): the first that applies gives the limit; else open says what is left to judge."""

    key: str
    open_statement: str
    open_question: str
    quantity: str
    comparator: Comparator
    evaluator: str
    choose: tuple[tuple[When, str, str], ...] = ()
    when: When = field(default_factory=dict)
    help: str = ""


@dataclass(frozen=True, slots=True)
class MeasureEntry:
    label: str
    kind: str
    quantity: str = ""
    unit: str = ""
    choices: tuple[str, ...] = ()
    required: bool = True
    limits: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CheckEntry:
    name: str
    subject: str
    how: str
    who: str
    cadence: Mapping[str, Any]
    measures: tuple[MeasureEntry, ...]
    place_kind: str = ""
    window_before_s: int = 3600
    grace_s: int = 3600
    rests: str = "never"
    if_missed: str = "flagged"
    instrument_kind: str = ""
    when: When = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ControlEntry:
    """A critical control point that a plan may need, or a prerequisite programme. Hazards name their controls."""

    id: str
    kind: str
    name: str
    corrective_action: str
    verification: str
    checks: tuple[CheckEntry, ...]
    programme: str = ""
    step: str = ""
    validation: str = ""
    limits: tuple[LimitChoice, ...] = ()
    sources: tuple[Source, ...] = ()
    when: When = field(default_factory=dict)

    @property
    def is_critical(self) -> bool:
        return self.kind == "ccp"


@dataclass(frozen=True, slots=True)
class Family:
    """typical: answers that this family suggests."""

    id: str
    name: str
    description: str
    typical: Mapping[str, Answer]
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Question:
    """choices: (key, label), in order. default: None where an answer must be given.

    ask_when: the answers with which a person must answer this one too, because the default stands for "not known".
    """

    id: str
    asks: str
    decides: str
    kind: str
    choices: tuple[tuple[str, str], ...] = ()
    lowest: float | None = None
    highest: float | None = None
    default: Answer | None = None
    when: When = field(default_factory=dict)
    ask_when: When = field(default_factory=dict)

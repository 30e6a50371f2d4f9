"""One revision with its findings, as its pages show it: read once, in a constant number of queries."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from haccp.plan.differences import NONE, field_in_words
from haccp.plan.document import KINDS, Part, PlanDocument, kind_name
from haccp.plan.document.parts import Borrowed, OpenJudgement
from haccp.plan.document.shape import Form, specs_of
from haccp.plan.findings import Finding, examine
from haccp.plan.labels import choice_word, label
from haccp.plan.models import PlanRevision
from haccp.plan.places import with_places_of
from haccp.plan.queries import circumstances_of
from haccp.plan.rows import read_plan
from haccp.plan.sections import SECTIONS, Section, Shown, by_section, section_of, section_of_part
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

# Fields that the card's own title says already, or that only order the parts.
_FACT_WORDS = {"cadence": "how often", "subject": "of what"}
_UNSAID = ("position", "name", "statement", "question", "product", "label", "code")


@dataclass(frozen=True, slots=True)
class Fact:
    words: str
    value: str


@dataclass(frozen=True, slots=True)
class Card:
    """A part as people read it. beneath: parts that belong to it and are shown under it."""

    part: Part
    kind: str
    section: str
    title: str
    facts: tuple[Fact, ...]
    findings: tuple[Finding, ...]
    sources: tuple[Borrowed, ...]
    questions: tuple[OpenJudgement, ...]
    beneath: tuple["Card", ...] = ()


@dataclass(frozen=True, slots=True)
class Group:
    shown: Shown
    cards: tuple[Card, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """A section in the list of the workspace."""

    section: Section
    count: int
    blocking: int
    warning: int
    noted: int

    @property
    def is_clear(self) -> bool:
        return not (self.blocking or self.warning)


class Workspace:
    """The document, what is found in it, and what this person may do with it.

    as_stored: as it is exported and signed; document: with every place of the dairy, to choose from.
    """

    def __init__(self, scope: Scope, revision: PlanRevision, now: datetime) -> None:
        self.scope, self.revision = scope, revision
        self.as_stored = read_plan(revision)
        self.document: PlanDocument = with_places_of(self.as_stored, scope.premises)
        self.findings: list[Finding] = examine(self.as_stored, circumstances_of(revision, self.as_stored, now))

    @property
    def may_edit(self) -> bool:
        return not (self.revision.is_approved or self.revision.is_discarded) and self.scope.may(Right.EDIT_PLAN)

    @cached_property
    def by_section(self) -> Mapping[str, list[Finding]]:
        return by_section(self.findings, self.document)

    @cached_property
    def by_part(self) -> Mapping[str, list[Finding]]:
        found: dict[str, list[Finding]] = {}
        for finding in self.findings:
            found.setdefault(finding.part_key, []).append(finding)
        return found

    @cached_property
    def marks(self) -> Mapping[str, list[Borrowed]]:
        found: dict[str, list[Borrowed]] = {}
        for mark in self.document.borrowed:
            found.setdefault(mark.part, []).append(mark)
        return found

    @cached_property
    def questions(self) -> Mapping[str, list[OpenJudgement]]:
        found: dict[str, list[OpenJudgement]] = {}
        for judgement in self.document.judgements:
            found.setdefault(judgement.part or "", []).append(judgement)
        return found

    def lines(self) -> list[Line]:
        return [self._line(section) for section in SECTIONS]

    def _line(self, section: Section) -> Line:
        severities = [finding.severity.value for finding in self.by_section[section.slug]]
        return Line(
            section,
            section.count(self.document),
            severities.count("blocks"),
            severities.count("warns"),
            severities.count("notes"),
        )

    def groups(self, section: Section) -> list[Group]:
        """The section's parts, those that belong to another shown beneath it."""
        below = {one.beneath: one for one in section.shown if one.beneath}
        return [
            Group(one, tuple(self.card(part, one, below.get(one.kind)) for part in one.parts(self.document)))
            for one in section.shown
            if not one.beneath
        ]

    def card(self, part: Part, shown: Shown, below: Shown | None = None) -> Card:
        kind = kind_name(part)
        under = []
        if below is not None:
            owner = next(name for name, spec in specs_of(_class(below)).items() if spec.target == kind and spec.owned)
            under = [one for one in below.parts(self.document) if getattr(one, owner) == part.key]
        return Card(
            part=part,
            kind=kind,
            section=section_of_part(part, kind),
            title=label(part, self.document),
            facts=tuple(facts(part, self.document, only=shown.fields, without=shown.without)),
            findings=tuple(self.by_part.get(part.key, ())),
            sources=tuple(self.marks.get(part.key, ())),
            questions=tuple(self.questions.get(part.key, ())),
            beneath=tuple(self.card(one, below) for one in under) if below else (),
        )

    def place_of(self, finding: Finding) -> tuple[str, str]:
        """Slug of the section, and key of the part to go to in it ("" for the section as a whole)."""
        return section_of(finding, self.document), finding.part_key


def _class(shown: Shown) -> type:
    return KINDS[shown.kind]


def facts(
    part: Part, document: PlanDocument, *, only: tuple[str, ...] = (), without: tuple[str, ...] = ()
) -> Iterator[Fact]:
    """What a part says beside its title, field by field; what is empty is left out."""
    for name, spec in specs_of(type(part)).items():
        if spec.form is Form.KEY or name in _UNSAID or name in without or (only and name not in only):
            continue
        if spec.form is Form.CHOICE:
            value = choice_word(getattr(part, name))
        else:
            value = field_in_words(part, name, spec, document)
        if value in (NONE, "") or (spec.form is Form.FLAG and value == "no"):
            continue
        yield Fact(
            _FACT_WORDS.get(name, spec.words).removesuffix(", s"),
            value.strip("“”") if spec.form in (Form.TEXT, Form.PART) else value,
        )

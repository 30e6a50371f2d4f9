"""A whole plan as one frozen value: what is examined, compared, copied, exported and signed."""

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from haccp.plan.document import shape
from haccp.plan.document.parts import (
    Borrowed,
    Check,
    ControlMeasure,
    ControlPoint,
    CriticalLimit,
    DecisionAnswers,
    Hazard,
    KeptDocument,
    Link,
    Material,
    Measure,
    OpenJudgement,
    Part,
    ProductDescription,
    ReviewTrigger,
    RiskLevel,
    Step,
    TeamMember,
    Validation,
    Verification,
)
from haccp.science.flow import FlowGraph, FlowLink, LinkKind
from haccp.science.working_days import REVIEW_WITHIN_WORKING_DAYS


@dataclass(frozen=True, kw_only=True)
class ProductNamed:
    """A product that the plan speaks of, by its identity."""

    code: str = shape.text("code", most=8, needed=True)
    name: str = shape.text("name", most=120, needed=True)
    species: str = shape.choice("milk species", ("cow", "goat", "ewe", "buffalo"))
    treatment: str = shape.choice("milk treatment", ("raw", "thermised", "pasteurised"))
    family: str = shape.text("family", most=60)


@dataclass(frozen=True, kw_only=True)
class PlaceNamed:
    """A place that a check of the plan names."""

    name: str = shape.text("name", most=80, needed=True)
    kind: str = shape.choice("kind", ("milk_store", "vat", "make_room", "ripening_room", "cold_store", "other"))
    walking_order: int = shape.whole("walking order", default=0)


@dataclass(frozen=True)
class PlanDocument:
    """Parts by kind, each kind in the order in which it is read. Kinds stand so that each refers to earlier ones."""

    scope_statement: str = shape.text("scope")
    change_summary: str = shape.text("what changed")
    significant_from: int | None = shape.whole("significant from this product of ranks", low=1, high=100)
    always_significant_severity: int | None = shape.whole("always significant from this severity", low=1, high=10)
    review_every_months: int = shape.whole("reviewed every … months", low=1, high=60, default=12)
    records_reviewed_within: int = shape.whole(
        "records reviewed within … working days", low=1, high=20, default=REVIEW_WITHIN_WORKING_DAYS
    )
    products: tuple[ProductNamed, ...] = ()
    places: tuple[PlaceNamed, ...] = ()
    team_members: tuple[TeamMember, ...] = ()
    descriptions: tuple[ProductDescription, ...] = ()
    steps: tuple[Step, ...] = ()
    materials: tuple[Material, ...] = ()
    links: tuple[Link, ...] = ()
    risk_levels: tuple[RiskLevel, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    control_points: tuple[ControlPoint, ...] = ()
    control_measures: tuple[ControlMeasure, ...] = ()
    decisions: tuple[DecisionAnswers, ...] = ()
    limits: tuple[CriticalLimit, ...] = ()
    checks: tuple[Check, ...] = ()
    measures: tuple[Measure, ...] = ()
    validations: tuple[Validation, ...] = ()
    verifications: tuple[Verification, ...] = ()
    documents: tuple[KeptDocument, ...] = ()
    review_triggers: tuple[ReviewTrigger, ...] = ()
    borrowed: tuple[Borrowed, ...] = ()
    judgements: tuple[OpenJudgement, ...] = ()

    def parts(self) -> Iterator[tuple[str, Part]]:
        """Every part with the name of its kind."""
        for kind in KINDS:
            for part in getattr(self, kind):
                yield kind, part

    @cached_property
    def by_key(self) -> dict[str, Part]:
        return {part.key: part for _, part in self.parts()}

    @cached_property
    def kind_of(self) -> dict[str, str]:
        """Key -> name of the kind."""
        return {part.key: kind for kind, part in self.parts()}

    @cached_property
    def flow(self) -> FlowGraph:
        return FlowGraph(
            tuple(step.key for step in self.steps),
            tuple(FlowLink(link.start, link.end, LinkKind(link.kind)) for link in self.links),
        )

    def title_of(self, key: str | None) -> str:
        """How people name a part; "" for none."""
        found = self.by_key.get(key or "")
        return found.title if found else ""

    def in_reading_order(self) -> "PlanDocument":
        """The same plan with its parts, products and places in the order in which every plan is read and exported."""
        return dataclasses.replace(
            self,
            products=tuple(sorted(self.products, key=lambda product: product.code)),
            places=tuple(sorted(self.places, key=lambda place: place.name)),
            **{kind: in_reading_order(kind, list(getattr(self, kind))) for kind in KINDS},  # type: ignore[arg-type]
        )

    def with_part(self, part: Part) -> "PlanDocument":
        """With this part added, or in the place of the one with its key."""
        kind = kind_name(part)
        rows = [part if row.key == part.key else row for row in getattr(self, kind)]
        if part.key not in self.by_key:
            rows.append(part)
        return dataclasses.replace(self, **{kind: in_reading_order(kind, rows)})  # type: ignore[arg-type]

    def without(self, keys: set[str]) -> "PlanDocument":
        left = {kind: tuple(part for part in getattr(self, kind) if part.key not in keys) for kind in KINDS}
        return dataclasses.replace(self, **left)  # type: ignore[arg-type]


KINDS: dict[str, type[Any]] = {
    "team_members": TeamMember,
    "descriptions": ProductDescription,
    "steps": Step,
    "materials": Material,
    "links": Link,
    "risk_levels": RiskLevel,
    "hazards": Hazard,
    "control_points": ControlPoint,
    "control_measures": ControlMeasure,
    "decisions": DecisionAnswers,
    "limits": CriticalLimit,
    "checks": Check,
    "measures": Measure,
    "validations": Validation,
    "verifications": Verification,
    "documents": KeptDocument,
    "review_triggers": ReviewTrigger,
    "borrowed": Borrowed,
    "judgements": OpenJudgement,
}
KIND_WORDS: dict[str, str] = {
    "team_members": "team member",
    "descriptions": "product description",
    "steps": "step",
    "materials": "material",
    "links": "link of the flow",
    "risk_levels": "level of risk",
    "hazards": "hazard",
    "control_points": "control point",
    "control_measures": "control measure",
    "decisions": "decision-tree answers",
    "limits": "limit",
    "checks": "check",
    "measures": "measure",
    "validations": "validation",
    "verifications": "verification activity",
    "documents": "document or record",
    "review_triggers": "review trigger",
    "borrowed": "source mark",
    "judgements": "open judgement",
}
_NAME_OF_KIND = {kind: name for name, kind in KINDS.items()}
_READ_BY: dict[str, tuple[str, ...]] = {
    "steps": ("position",),
    "risk_levels": ("axis", "rank"),
    "measures": ("check", "position"),
    "control_points": ("code",),
    "descriptions": ("product",),
}


def kind_name(part: Part) -> str:
    """ "steps" of a Step."""
    return _NAME_OF_KIND[type(part)]


def in_reading_order(kind: str, rows: list[Part]) -> tuple[Part, ...]:
    """The same rows always stand in the same order, whatever the database hands out."""
    names = _READ_BY.get(kind, ("title",))
    return tuple(sorted(rows, key=lambda row: (*(getattr(row, name) for name in names), row.key)))

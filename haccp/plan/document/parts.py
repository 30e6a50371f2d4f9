"""The parts of a plan as frozen data. A key names a part within its plan and stays when the plan is copied."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from haccp.plan.document import shape, vocabulary
from haccp.science.decision_tree import CURRENT, TREES, Determination, determine
from haccp.science.limit import Comparator, Limit
from haccp.science.ruling import JsonValue


@dataclass(frozen=True, kw_only=True)
class TeamMember:
    """A person of the team that keeps the plan, and what makes them fit for it."""

    key: str = shape.key()
    name: str = shape.text("name", most=120, needed=True)
    duty: str = shape.text("duty in the team", most=120)
    competence: str = shape.text("competence")
    from_outside: bool = shape.flag("from outside the dairy")

    @property
    def title(self) -> str:
        return self.name


@dataclass(frozen=True, kw_only=True)
class ProductDescription:
    """What the plan says of one product, its intended use, and who is meant to eat it."""

    key: str = shape.key()
    product: str = shape.product()
    composition: str = shape.text("composition")
    ph_low: float | None = shape.number("lowest pH", low=0, high=14)
    ph_high: float | None = shape.number("highest pH", low=0, high=14)
    water_activity_high: float | None = shape.number("highest water activity", low=0, high=1)
    salt_percent: float | None = shape.number("salt, g per 100 g", low=0, high=40)
    moisture_percent: float | None = shape.number("moisture, g per 100 g", low=0, high=100)
    milk_fat_percent: float | None = shape.number("fat of the milk, g per 100 g", low=0, high=100)
    ageing_days: int | None = shape.whole("least days of ageing", high=20_000)
    ageing_temperature_c: float | None = shape.number("lowest temperature of ageing, °C", low=-5, high=40)
    herds_free: str = shape.choice("herds free of brucellosis and tuberculosis", ("", "yes", "no"), "")
    packaging: str = shape.text("packaging")
    shelf_life_days: int | None = shape.whole("shelf life, days", high=20_000)
    storage: str = shape.text("storage and distribution")
    storage_temperature_c: float | None = shape.number("highest storage temperature, °C", low=-40, high=40)
    labelling: str = shape.text("labelling")
    allergens: tuple[str, ...] = shape.texts("allergens")
    intended_use: str = shape.text("intended use")
    vulnerable_consumers: str = shape.text("vulnerable consumers")
    dispatch_every_days: float | None = shape.number("leaves every … days", low=0.01, high=3660)

    @property
    def title(self) -> str:
        return f"description of {self.product}"


@dataclass(frozen=True, kw_only=True)
class Step:
    """A step of the process."""

    key: str = shape.key()
    position: int = shape.whole("position", low=1, needed=True)
    name: str = shape.text("name", most=80, needed=True)
    kind: str = shape.choice("kind", vocabulary.STEP_KINDS, "operation")
    description: str = shape.text("description")
    products: tuple[str, ...] = shape.products()

    @property
    def title(self) -> str:
        return self.name


@dataclass(frozen=True, kw_only=True)
class Material:
    """What goes into a step, or comes out of it beside the product."""

    key: str = shape.key()
    step: str = shape.part("step", "steps", needed=True, owned=True)
    direction: str = shape.choice("direction", vocabulary.DIRECTIONS)
    kind: str = shape.choice("kind", vocabulary.MATERIAL_KINDS)
    name: str = shape.text("name", most=80, needed=True)

    @property
    def title(self) -> str:
        return self.name


@dataclass(frozen=True, kw_only=True)
class Link:
    """A way from one step to another on the flow diagram."""

    key: str = shape.key()
    start: str = shape.part("from step", "steps", needed=True, owned=True)
    end: str = shape.part("to step", "steps", needed=True, owned=True)
    kind: str = shape.choice("kind", vocabulary.LINK_KINDS, "flow")
    label: str = shape.text("when, or what", most=60)

    @property
    def title(self) -> str:
        return self.label or f"{self.kind} link"


@dataclass(frozen=True, kw_only=True)
class RiskLevel:
    """One rank of likelihood or severity, in the producer's words."""

    key: str = shape.key()
    axis: str = shape.choice("scale", vocabulary.RISK_AXES)
    rank: int = shape.whole("rank", low=1, high=10, needed=True)
    word: str = shape.text("word", most=60, needed=True)
    meaning: str = shape.text("meaning")

    @property
    def title(self) -> str:
        return f"{self.axis} {self.rank}: {self.word}"


@dataclass(frozen=True, kw_only=True)
class Hazard:
    """A hazard at a step, and how it was weighed."""

    key: str = shape.key()
    step: str = shape.part("step", "steps", needed=True, owned=True)
    kind: str = shape.choice("kind", vocabulary.HAZARD_KINDS)
    name: str = shape.text("name", most=160, needed=True)
    agent: str = shape.text("agent", most=60)
    likelihood: int = shape.whole("likelihood", low=1, high=10, default=1)
    severity: int = shape.whole("severity", low=1, high=10, default=1)
    significant: bool = shape.flag("significant")
    justification: str = shape.text("justification")
    acceptable_level: str = shape.text("acceptable level")
    control_measure: str = shape.text("control measure in words")

    @property
    def title(self) -> str:
        return self.name


@dataclass(frozen=True, kw_only=True)
class ControlPoint:
    """A critical control point or a prerequisite programme, with what is done when it fails."""

    key: str = shape.key()
    step: str | None = shape.part("step", "steps")
    kind: str = shape.choice("kind", vocabulary.CONTROL_POINT_KINDS)
    code: str = shape.text("code", most=12, needed=True)
    name: str = shape.text("name", most=120, needed=True)
    programme: str = shape.text("programme", most=40)
    hazards: tuple[str, ...] = shape.parts("hazards", "hazards")
    corrective_action: str = shape.text("corrective action")
    disposition: str = shape.text("what is done with the product")
    verification: str = shape.text("verification in words")
    two_to_close: bool = shape.flag("a second person closes its deviations")

    @property
    def title(self) -> str:
        return f"{self.code} {self.name}"

    @property
    def is_critical(self) -> bool:
        return self.kind == "ccp"


@dataclass(frozen=True, kw_only=True)
class ControlMeasure:
    """What controls a hazard, and where: at a step, by a control point or a prerequisite programme."""

    key: str = shape.key()
    hazard: str = shape.part("hazard", "hazards", needed=True, owned=True)
    description: str = shape.text("description", needed=True)
    step: str | None = shape.part("step that controls", "steps")
    control_point: str | None = shape.part("control point or programme", "control_points")

    @property
    def title(self) -> str:
        return self.description


@dataclass(frozen=True, kw_only=True)
class DecisionAnswers:
    """The answers given to a decision tree for one hazard at one step."""

    key: str = shape.key()
    hazard: str = shape.part("hazard", "hazards", needed=True, owned=True)
    step: str = shape.part("step", "steps", needed=True)
    tree: str = shape.choice("decision tree", TREES, CURRENT)
    answers: Mapping[str, bool] = shape.data("answers")
    reasons: str = shape.text("reasons")

    @property
    def title(self) -> str:
        return "decision tree"

    @property
    def determination(self) -> Determination:
        """InputError for answers that the tree does not ask for."""
        return determine(self.tree, self.answers)


@dataclass(frozen=True, kw_only=True)
class CriticalLimit:
    """A limit as data, and on whose authority it stands."""

    key: str = shape.key()
    control_point: str = shape.part("control point", "control_points", needed=True, owned=True)
    statement: str = shape.text("statement", most=240, needed=True)
    quantity: str = shape.text("quantity", most=40, needed=True)
    evaluator: str = shape.text("way of judging", most=40, needed=True)
    comparator: str = shape.choice("comparator", [c.value for c in Comparator])
    low: float | None = shape.number("lowest value")
    high: float | None = shape.number("highest value")
    target_low: float | None = shape.number("lowest target")
    target_high: float | None = shape.number("highest target")
    accepted: tuple[str, ...] = shape.texts("accepted answers", most=200)
    parameters: Mapping[str, JsonValue] = shape.data("parameters")
    unit: str = shape.text("unit", most=16)
    source_document: str = shape.text("source", most=160)
    source_clause: str = shape.text("clause", most=160)
    products: tuple[str, ...] = shape.products()

    @property
    def title(self) -> str:
        return self.statement

    def as_limit(self) -> Limit:
        return Limit(
            quantity=self.quantity,
            evaluator=self.evaluator,
            comparator=Comparator(self.comparator),
            low=self.low,
            high=self.high,
            target_low=self.target_low,
            target_high=self.target_high,
            accepted=tuple(self.accepted),
            parameters=dict(self.parameters),
            unit=self.unit,
        )


@dataclass(frozen=True, kw_only=True)
class Check:
    """Monitoring: what is looked at, how, when, where and by whom."""

    key: str = shape.key()
    control_point: str = shape.part("control point", "control_points", needed=True, owned=True)
    name: str = shape.text("name", most=120, needed=True)
    how: str = shape.text("how")
    who: str = shape.text("who", most=80)
    subject: str = shape.choice("subject", ("premises", "place", "milk", "batch"))
    place: str | None = shape.place()
    instrument_kind: str = shape.choice(
        "instrument", ("", "thermometer", "recorder", "ph_meter", "hygrometer", "scale", "test_kit"), ""
    )
    cadence: Mapping[str, JsonValue] = shape.data("cadence")
    window_before_s: int = shape.whole("may be done before, s", high=2_147_483_647, default=3600)
    grace_s: int = shape.whole("may be late by, s", high=2_147_483_647, default=3600)
    rests: str = shape.choice("rest in closed periods", vocabulary.RESTS, "never", newer=True)
    if_missed: str = shape.choice("consequence if missed", vocabulary.IF_MISSED, "flagged", newer=True)
    products: tuple[str, ...] = shape.products()

    @property
    def title(self) -> str:
        return self.name


@dataclass(frozen=True, kw_only=True)
class Measure:
    """One thing to enter at a check."""

    key: str = shape.key()
    check: str = shape.part("check", "checks", needed=True, owned=True, column="check_made")
    position: int = shape.whole("position", needed=True)
    label: str = shape.text("label", most=80, needed=True)
    kind: str = shape.choice("kind", ("number", "answer", "text", "photo", "scan", "recorder_file"))
    quantity: str = shape.text("quantity", most=40)
    unit: str = shape.text("unit", most=16)
    choices: tuple[str, ...] = shape.texts("choices", most=200)
    required: bool = shape.flag("required", default=True)
    limits: tuple[str, ...] = shape.parts("limits", "limits")

    @property
    def title(self) -> str:
        return self.label


@dataclass(frozen=True, kw_only=True)
class Validation:
    """Evidence that a control point, as limited, controls its hazards."""

    key: str = shape.key()
    control_point: str = shape.part("control point", "control_points", needed=True, owned=True)
    limit: str | None = shape.part("limit", "limits")
    kind: str = shape.choice("kind of evidence", vocabulary.VALIDATION_KINDS)
    statement: str = shape.text("what it shows", needed=True)
    document: str = shape.text("document", most=240)
    performed_on: dt.date | None = shape.day("date")  # noqa: RUF009
    performed_by: str = shape.text("by whom", most=120)

    @property
    def title(self) -> str:
        return self.document or self.statement


@dataclass(frozen=True, kw_only=True)
class Verification:
    """What is done to see that the plan is followed and works; of a control point, or of the whole plan."""

    key: str = shape.key()
    control_point: str | None = shape.part("control point", "control_points", owned=True)
    what: str = shape.text("what", most=160, needed=True)
    how: str = shape.text("how")
    who: str = shape.text("who", most=80)
    cadence: Mapping[str, JsonValue] = shape.data("how often")

    @property
    def title(self) -> str:
        return self.what


@dataclass(frozen=True, kw_only=True)
class KeptDocument:
    """A document or record that belongs to the plan, where it is kept and for how long."""

    key: str = shape.key()
    name: str = shape.text("name", most=160, needed=True)
    kind: str = shape.choice("kind", vocabulary.DOCUMENT_KINDS)
    kept_where: str = shape.text("kept where", most=160)
    responsible: str = shape.text("responsible", most=120)
    retention_days: int | None = shape.whole("kept for, days", high=40_000)

    @property
    def title(self) -> str:
        return self.name


@dataclass(frozen=True, kw_only=True)
class ReviewTrigger:
    """What makes the plan be reviewed before its yearly review."""

    key: str = shape.key()
    kind: str = shape.choice("kind", vocabulary.TRIGGER_KINDS)
    description: str = shape.text("description")

    @property
    def title(self) -> str:
        return vocabulary.TRIGGER_KINDS[self.kind]


@dataclass(frozen=True, kw_only=True)
class Borrowed:
    """The published source of a value that was taken over from elsewhere."""

    key: str = shape.key()
    part: str = shape.part("part", "", needed=True, owned=True, column="part_key")
    field: str = shape.text("field", most=40)
    entry: str = shape.text("entry of the library", most=120)
    document: str = shape.text("document", most=240, needed=True)
    clause: str = shape.text("clause", most=160)
    jurisdiction: str = shape.text("jurisdiction", most=12)
    edition: str = shape.text("edition or date", most=60)

    @property
    def title(self) -> str:
        return ", ".join(filter(None, (self.document, self.clause)))


@dataclass(frozen=True, kw_only=True)
class OpenJudgement:
    """A question that only the producer can answer; open until its answer stands there."""

    key: str = shape.key()
    part: str | None = shape.part("part", "", owned=True, column="part_key")
    question: str = shape.text("question", needed=True)
    answer: str = shape.text("answer")

    @property
    def title(self) -> str:
        return self.question

    @property
    def is_open(self) -> bool:
        return not self.answer.strip()


Part = (
    TeamMember
    | ProductDescription
    | Step
    | Material
    | Link
    | RiskLevel
    | Hazard
    | ControlPoint
    | ControlMeasure
    | DecisionAnswers
    | CriticalLimit
    | Check
    | Measure
    | Validation
    | Verification
    | KeptDocument
    | ReviewTrigger
    | Borrowed
    | OpenJudgement
)

"""A draft of the library as a plan document: every part in its place, every borrowed value marked, the rest asked."""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import count

from haccp.plan.document import Part, PlaceNamed, PlanDocument, ProductNamed
from haccp.plan.document.document import KINDS
from haccp.plan.document.own_review import review_parts
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
    ProductDescription,
    ReviewTrigger,
    RiskLevel,
    Step,
    Validation,
    Verification,
)
from haccp.plan.library.entries import CheckEntry, Force
from haccp.plan.library.library import Library, within
from haccp.plan.library.periods import DAY_S
from haccp.plan.library.plan_draft import BorrowedLimit, ControlDraft, HazardDraft, PlanDraft

STEP_KINDS = {
    "milk_receipt": "reception",
    "whey_collection": "reception",
    "milk_storage": "storage",
    "ripening": "storage",
    "storage_in_brine": "storage",
    "cold_storage": "storage",
    "packing": "packing",
    "dispatch": "dispatch",
}
# Words of the draft's five ranks: a suggestion, and asked about among the judgements. Common practice, no source.
SCALE = {
    "likelihood": ("hardly ever", "seldom", "now and then", "often", "nearly always"),
    "severity": ("slight", "mild illness", "illness", "serious illness", "death or lasting harm"),
}
MATERIAL_KINDS = (
    ("milk", "milk"),
    ("whey", "by_product"),
    ("water", "water"),
    ("pack", "packaging"),
    ("label", "packaging"),
    ("spent", "waste"),
    ("refused", "waste"),
    ("trimmings", "by_product"),
    ("sample", "by_product"),
)
TRIGGERS = {
    "new_product": "A new cheese, or another milk or treatment.",
    "new_equipment": "New equipment, or a changed step of the process.",
    "deviation_trend": "The same deviation again and again.",
    "published_limit": "A law or published limit that this plan rests on has changed.",
    "complaint": "A complaint of illness.",
}


@dataclass(slots=True)
class _Made:
    """Parts as they are made, and what names them: step ids, (hazard, step), codes of controls."""

    product: ProductNamed
    places: Sequence[PlaceNamed]
    jurisdiction: str
    on: dt.date
    parts: list[Part] = field(default_factory=list)
    steps: dict[str, Step] = field(default_factory=dict)
    hazards: dict[tuple[str, str], Hazard] = field(default_factory=dict)
    points: dict[str, ControlPoint] = field(default_factory=dict)

    def ask(self, question: str, part: Part | None = None) -> None:
        self.parts.append(OpenJudgement(part=part.key if part else None, question=question))

    def mark(self, part: Part, document: str, clause: str, *, field: str = "", entry: str = "", edition: str) -> None:
        self.parts.append(
            Borrowed(
                part=part.key,
                field=field,
                entry=entry,
                document=document[:240],
                clause=clause[:160],
                jurisdiction=self.jurisdiction if entry else "",
                edition=edition[:60],
            )
        )


def plan_document(
    draft: PlanDraft, library: Library, *, product: ProductNamed, places: Sequence[PlaceNamed]
) -> PlanDocument:
    """The draft as a document that can be stored as it is. places: those of the dairy, for checks that look at one."""
    made = _Made(product, places, str(draft.answers["jurisdiction"]), draft.drafted_for)
    edition = f"library {draft.library[1]}"
    _flow(draft, made)
    _hazards(draft, library, made, edition)
    for control in draft.controls:
        _control(control, draft, library, made, edition)
    _decisions(draft, made)
    made.parts += _scales()
    made.parts.append(_description(draft, product))
    made.parts += (ReviewTrigger(kind=kind, description=words) for kind, words in TRIGGERS.items())
    _documents(library, made, edition)
    _judgements(draft, made)
    by_kind = {kind: tuple(part for part in made.parts if type(part) is cls) for kind, cls in KINDS.items()}
    document = PlanDocument(
        scope_statement=f"{product.name}, from milk to dispatch.",
        change_summary=f"Drafted from {draft.library[0]}, edition {draft.library[1]}.",
        products=(product,),
        places=tuple(places),
        **by_kind,  # type: ignore[arg-type]
    )
    for part in list(review_parts(document)):
        document = document.with_part(part)
    return document.in_reading_order()


def _flow(draft: PlanDraft, made: _Made) -> None:
    for step in draft.steps:
        made.steps[step.id] = Step(
            position=step.position,
            name=step.name,
            kind=STEP_KINDS.get(step.id, "operation"),
            description=step.description,
            products=(made.product.code,),
        )
    made.parts += made.steps.values()
    for link in draft.links:
        if link.kind in ("flow", "rework") and link.source != link.target:
            start, end = made.steps[link.source].key, made.steps[link.target].key
            made.parts.append(Link(start=start, end=end, kind=link.kind, label=link.material[:60]))
        elif link.kind in ("input", "rework"):
            made.parts.append(_material(made.steps[link.target], "in", link.material))
        elif link.kind == "output":
            made.parts.append(_material(made.steps[link.source], "out", link.material))


def _material(step: Step, direction: str, name: str) -> Material:
    default = "ingredient" if direction == "in" else "by_product"
    kind = next((kind for word, kind in MATERIAL_KINDS if word in name), default)
    return Material(step=step.key, direction=direction, kind=kind, name=name[:80])


def _hazards(draft: PlanDraft, library: Library, made: _Made, edition: str) -> None:
    for one in draft.hazards:
        hazard = Hazard(
            step=made.steps[one.step].key,
            kind=one.kind,
            name=one.name,
            agent=one.hazard[:60],
            likelihood=one.likelihood,
            severity=one.severity,
            significant=one.significant,
            justification=f"{one.how.capitalize()} here: {one.justification}",
            control_measure=one.control_measure,
        )
        made.hazards[one.hazard, one.step] = hazard
        made.parts.append(hazard)
        for source in library.hazards[one.hazard].sources:
            title = library.documents[source.document].title
            made.mark(hazard, title, _clause(source.clause, source.known.in_words), edition=edition)


def _clause(clause: str, known: str) -> str:
    return clause if known == "read" else f"{clause} ({known})".strip()


def _control(control: ControlDraft, draft: PlanDraft, library: Library, made: _Made, edition: str) -> None:
    point = ControlPoint(
        step=made.steps[control.step].key if control.step else None,
        kind=control.kind,
        code=control.code,
        name=control.name,
        programme=control.programme,
        hazards=tuple(made.hazards[pair].key for pair in control.hazards),
        corrective_action=control.corrective_action,
        verification=control.verification,
    )
    made.points[control.id] = point
    made.parts.append(point)
    limits = {limit.key: _limit(limit, control, point, library, made, edition) for limit in control.borrowed}
    for one in control.open:
        made.ask(f"{one.statement}: {one.question}{f' ({one.help})' if one.help else ''}", point)
    for check in control.checks:
        for part in _checks(check, control, point, limits, made):
            made.parts.append(part)
    made.parts.append(_verification(control, point, made))


def _limit(
    limit: BorrowedLimit, control: ControlDraft, point: ControlPoint, library: Library, made: _Made, edition: str
) -> CriticalLimit:
    judged = limit.ready.limit
    stored = CriticalLimit(
        control_point=point.key,
        statement=limit.ready.statement,
        quantity=judged.quantity,
        evaluator=judged.evaluator,
        comparator=judged.comparator.value,
        low=judged.low,
        high=judged.high,
        target_low=judged.target_low,
        target_high=judged.target_high,
        accepted=tuple(judged.accepted),
        parameters=dict(judged.parameters),
        unit=judged.unit,
        source_document=limit.document[:160],
        source_clause=limit.clause[:160],
        products=(made.product.code,) if control.is_critical else (),
    )
    made.parts.append(stored)
    made.mark(stored, limit.document, limit.clause, entry=limit.value, edition=edition)
    if control.is_critical and library.values[limit.value].force is Force.FLOOR:
        made.parts.append(
            Validation(
                control_point=point.key,
                limit=stored.key,
                kind="law",
                statement=control.validation or f"“{limit.ready.statement}” is set by law.",
                document=f"{limit.document}, {limit.clause}"[:240],
            )
        )
    if limit.needs_confirming:
        text = f"{limit.document}, {limit.clause}"
        made.ask(f"“{limit.ready.statement}” rests on {text}: have you read the text, and does it say so?", stored)
    return stored


def _checks(
    entry: CheckEntry, control: ControlDraft, point: ControlPoint, limits: Mapping[str, CriticalLimit], made: _Made
) -> Iterator[Part]:
    """One check for each place of the kind; for the whole dairy, and asked about, where it has none yet."""
    fitting: list[str | None] = [None]
    subject = entry.subject
    if subject == "place":
        fitting = [place.name for place in made.places if place.kind == entry.place_kind]
        if not fitting:
            subject, fitting = "premises", [None]
            kind = entry.place_kind.replace("_", " ")
            made.ask(f"“{entry.name}” is for a {kind}, and none is on file: which one is it?", point)
    for place in fitting:
        check = Check(
            control_point=point.key,
            name=(f"{entry.name}: {place}" if place else entry.name)[:120],
            how=entry.how,
            who=entry.who,
            subject=subject,
            place=place,
            instrument_kind=entry.instrument_kind,
            cadence=dict(entry.cadence),
            window_before_s=entry.window_before_s,
            grace_s=entry.grace_s,
            rests=entry.rests,
            if_missed=entry.if_missed,
            products=(made.product.code,) if subject == "batch" else (),
        )
        yield check
        for position, measure in enumerate(entry.measures):
            yield Measure(
                check=check.key,
                position=position,
                label=measure.label,
                kind=measure.kind,
                quantity=measure.quantity,
                unit=measure.unit,
                choices=tuple(measure.choices),
                required=measure.required,
                limits=tuple(limits[key].key for key in measure.limits if key in limits),
            )


def _verification(control: ControlDraft, point: ControlPoint, made: _Made) -> Verification:
    return Verification(
        control_point=point.key,
        what=f"{control.code} {control.name} is done as planned, and works"[:160],
        how=control.verification,
        who="",
        cadence={
            "kind": "clock",
            "rrule": "FREQ=MONTHLY;BYMONTHDAY=1;BYHOUR=8;BYMINUTE=0;BYSECOND=0",
            "from": made.on.isoformat(),
        },
    )


def _decisions(draft: PlanDraft, made: _Made) -> None:
    controls = {control.id: control for control in draft.controls}
    for one in draft.hazards:
        hazard = made.hazards[one.hazard, one.step]
        for name in one.controls:
            control = controls[name]
            made.parts.append(
                ControlMeasure(
                    hazard=hazard.key,
                    description=one.control_measure or control.name,
                    step=made.steps[control.step].key if control.step else None,
                    control_point=made.points[name].key,
                )
            )
        if one.tree is not None:
            made.parts += _answers(one, hazard, [controls[name] for name in one.controls], made)


def _answers(
    one: HazardDraft, hazard: Hazard, controls: Sequence[ControlDraft], made: _Made
) -> Iterator[DecisionAnswers]:
    """At the hazard's own step, and at each later step that controls it, where the tree is to be asked again."""
    assert one.tree is not None
    here = made.steps[one.step]
    yield DecisionAnswers(hazard=hazard.key, step=here.key, answers=dict(one.tree), reasons=one.control_measure)
    later = {control.step for control in controls if control.is_critical and control.step != one.step}
    last = max((made.steps[step].position for step in later), default=0)
    for step in sorted(later, key=lambda step: made.steps[step].position):
        leads_on = made.steps[step].position < last
        answers = {"q1": False, "q2": True, "q3": leads_on, **({} if leads_on else {"q4": True})}
        yield DecisionAnswers(
            hazard=hazard.key, step=made.steps[step].key, answers=answers, reasons=one.control_measure
        )


def _scales() -> Iterator[RiskLevel]:
    for axis, words in SCALE.items():
        for rank, word in zip(count(1), words, strict=False):
            yield RiskLevel(axis=axis, rank=rank, word=word)


def _description(draft: PlanDraft, product: ProductNamed) -> ProductDescription:
    answers = draft.answers
    allergens = ["milk"]
    if answers.get("lysozyme") is True:
        allergens.append("egg (lysozyme)")
    if answers.get("additions") == "nuts":
        allergens.append("nuts or seeds")
    days = answers.get("ageing_days")
    return ProductDescription(
        product=product.code,
        ageing_days=int(days) if isinstance(days, int | float) and days else None,
        herds_free={True: "yes", False: "no"}.get(answers.get("herd_free"), ""),  # type: ignore[arg-type]
        packaging={"none": "Not packed", "paper": "Paper or open wrap", "vacuum": "Vacuum or protective gas"}.get(
            str(answers.get("packaging", "")), "Tub or brine tub"
        ),
        allergens=tuple(allergens),
    )


def _documents(library: Library, made: _Made, edition: str) -> None:
    records = [
        value
        for value in library.values.values()
        if value.subject == "retention"
        and set(within(made.jurisdiction)) & set(value.jurisdictions)
        and value.is_in_force(made.on)
        and any(part.name == "keep" for part in value.parts)
    ]
    longest = max(records, key=lambda value: value.part("keep").low or 0.0, default=None)
    days = int((longest.part("keep").low or 0.0) / DAY_S) if longest else None
    kept = KeptDocument(
        name="Records of monitoring, deviations and corrective actions",
        kind="record",
        kept_where="in this service",
        retention_days=days,
    )
    made.parts += [
        kept,
        KeptDocument(name="This plan, with all its revisions", kind="document", kept_where="in this service"),
    ]
    if longest is None:
        made.ask("How long does your law have you keep records?", kept)
    else:
        title = library.documents[longest.document].title
        clause = _clause(longest.clause, longest.known.in_words)
        made.mark(kept, title, clause, field="retention_days", entry=longest.id, edition=edition)


def _judgements(draft: PlanDraft, made: _Made) -> None:
    points = {control.code: made.points[control.id] for control in draft.controls}
    asked = {part.question for part in made.parts if isinstance(part, OpenJudgement)}
    open_questions = {limit.question for control in draft.controls for limit in control.open}
    for one in draft.open_judgements:
        if one.question in open_questions or "confirm the text" in one.question:
            continue  # asked beside the control point or the limit already
        part: Part | None = points.get(one.place) or made.steps.get(one.place)
        question = f"{one.question}{f' {one.help}' if one.help else ''}"
        if question not in asked:
            made.ask(question, part)
    made.ask("Each control is verified monthly in this draft: how often do you verify it, and who does?")

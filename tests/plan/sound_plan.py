"""A plan in which the rules find nothing: a washed-rind cheese of pasteurised cow's milk in the European Union."""

import dataclasses
import datetime as dt
from functools import cache
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from haccp.plan.document import PlanDocument, ProductNamed
from haccp.plan.document.fingerprint import flow_sha256
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
    TeamMember,
    Validation,
    Verification,
)
from haccp.plan.document.vocabulary import PROGRAMMES
from haccp.plan.findings import Circumstances, InstrumentOwned
from haccp.plan.library import Library, load_library
from haccp.plan.library.floors import LibraryFloors
from haccp.plan.library.superseded import superseded_sources
from tests import ROOT

TODAY = dt.date(2026, 6, 1)
EU_HEAT = "Regulation (EC) 853/2004"
WEEKLY = {"kind": "clock", "rrule": "FREQ=WEEKLY;BYDAY=MO;BYHOUR=8;BYMINUTE=0;BYSECOND=0", "from": "2026-01-05"}
CCP = {"q1": False, "q2": True, "q3": False, "q4": True}

MINOR = {"milk": "chemical", "make": "physical", "ripen": "biological", "dispatch": "allergen"}


def k(name: str) -> str:
    """The same key for the same name."""
    return str(uuid5(NAMESPACE_URL, name))


def sound_plan() -> PlanDocument:
    steps = _steps()
    return PlanDocument(
        scope_statement="Brook Square, from our own milk to dispatch.",
        change_summary="First plan.",
        significant_from=6,
        always_significant_severity=5,
        products=(
            ProductNamed(code="BS", name="Brook Square", species="cow", treatment="pasteurised", family="washed rind"),
        ),
        team_members=(TeamMember(key=k("ada"), name="Ada", duty="leads", competence="Food hygiene course 2024."),),
        descriptions=(_description(),),
        steps=steps,
        materials=(
            Material(key=k("milk in"), step=k("milk"), direction="in", kind="milk", name="Raw milk"),
            Material(key=k("whey out"), step=k("make"), direction="out", kind="by_product", name="Whey"),
        ),
        links=(
            *(
                Link(key=k(f"link {one} {other}"), start=k(one), end=k(other))
                for one, other in (("milk", "heat"), ("heat", "make"), ("make", "ripen"), ("ripen", "dispatch"))
            ),
            Link(key=k("rework"), start=k("ripen"), end=k("make"), kind="rework", label="brine reused"),
        ),
        risk_levels=tuple(
            RiskLevel(key=k(f"{axis}{rank}"), axis=axis, rank=rank, word=f"{axis} {rank}")
            for axis in ("likelihood", "severity")
            for rank in (1, 2, 3, 4, 5)
        ),
        hazards=_hazards(),
        control_points=(_ccp(), *_programmes()),
        control_measures=(
            ControlMeasure(
                key=k("m listeria"), hazard=k("listeria"), description="Heat", step=k("heat"), control_point=k("ccp")
            ),
        ),
        decisions=(
            DecisionAnswers(
                key=k("d listeria"), hazard=k("listeria"), step=k("heat"), answers=CCP, reasons="Only here."
            ),
        ),
        limits=(_limit(),),
        checks=(_check(), *_programme_checks(), _review()),
        measures=(
            Measure(
                key=k("m recorder"),
                check=k("check"),
                position=0,
                label="Recorder file",
                kind="recorder_file",
                quantity="temperature",
                unit="°C",
                limits=(k("limit"),),
            ),
            *_programme_measures(),
            Measure(key=k("m review"), check=k("check review"), position=0, label="What was found", kind="text"),
        ),
        validations=(
            Validation(
                key=k("validation"),
                control_point=k("ccp"),
                limit=k("limit"),
                kind="law",
                statement="5 log of Coxiella burnetii",
                document="CXC 57-2004, Annex II, appendix B",
                performed_on=dt.date(2026, 1, 2),
                performed_by="Ada",
            ),
        ),
        verifications=(
            Verification(
                key=k("v plan"), what="Review of the records", how="All of the week", who="Ada", cadence=WEEKLY
            ),
            Verification(
                key=k("v ccp"), control_point=k("ccp"), what="Recorder against thermometer", who="Ada", cadence=WEEKLY
            ),
        ),
        documents=(
            KeptDocument(
                key=k("doc"), name="Heat treatment records", kind="record", kept_where="here", retention_days=730
            ),
        ),
        review_triggers=(ReviewTrigger(key=k("trigger"), kind="new_product", description="Any new cheese"),),
        borrowed=(
            Borrowed(
                key=k("mark"),
                part=k("limit"),
                field="low",
                document=EU_HEAT,
                clause="Annex III, section IX, chapter II, part II",
                jurisdiction="EU",
                edition="2004",
            ),
        ),
        judgements=(OpenJudgement(key=k("judgement"), question="Which instrument?", answer="The recorder."),),
    ).in_reading_order()


def _description() -> ProductDescription:
    return ProductDescription(
        key=k("description"), product="BS", composition="Cow's milk, salt, rennet, cultures", ph_low=5.2, ph_high=5.6,
        water_activity_high=0.96, salt_percent=1.6, moisture_percent=48.0, milk_fat_percent=4.0, ageing_days=42,
        packaging="Paper", shelf_life_days=60, storage="At 8 °C or less", storage_temperature_c=8.0,
        labelling="Lot, milk as allergen", allergens=("milk",), intended_use="Eaten as it is",
        vulnerable_consumers="Sold to all; we advise against the rind in pregnancy.", dispatch_every_days=2.0,
    )  # fmt: skip


def _steps() -> tuple[Step, ...]:
    kinds = {"milk": "reception", "heat": "operation", "make": "operation", "ripen": "storage", "dispatch": "dispatch"}
    return tuple(
        Step(key=k(name), position=position, name=name.capitalize(), kind=kind)
        for position, (name, kind) in enumerate(kinds.items(), 1)
    )


def _hazards() -> tuple[Hazard, ...]:
    minor = [
        Hazard(
            key=k(f"{kind} at {step}"), step=k(step), kind=kind, name=f"{kind} hazard of {step}", likelihood=1,
            severity=2, significant=False, justification="Good practice suffices.",
        )
        for step, kind in MINOR.items()
    ]  # fmt: skip
    return (
        Hazard(
            key=k("listeria"), step=k("heat"), kind="biological", name="Listeria monocytogenes survives",
            agent="listeria_monocytogenes", likelihood=2, severity=5, significant=True,
            justification="Raw milk may carry it, and it kills.", acceptable_level="Absent in 25 g",
        ),
        *minor,
    )  # fmt: skip


def _ccp() -> ControlPoint:
    return ControlPoint(
        key=k("ccp"), step=k("heat"), kind="ccp", code="CCP 1", name="Pasteurisation", hazards=(k("listeria"),),
        corrective_action="Heat again in full.", disposition="Cheese made of it is held and destroyed.",
    )  # fmt: skip


def _limit() -> CriticalLimit:
    return CriticalLimit(
        key=k("limit"), control_point=k("ccp"), statement="63 °C for 30 min", quantity="temperature",
        evaluator="holding", comparator="at_least", low=63.0, target_low=64.0,
        parameters={"hold_s": 1800, "target_hold_s": 1900}, unit="°C", source_document=EU_HEAT,
        source_clause="Annex III, section IX, chapter II, part II",
    )  # fmt: skip


def _check() -> Check:
    return Check(
        key=k("check"), control_point=k("ccp"), name="Heat treatment", how="Read the recorder", who="Maker",
        subject="batch", instrument_kind="recorder",
        cadence={"kind": "event", "event": "make_started", "offsets_s": [0]},
    )  # fmt: skip


def _review() -> Check:
    return Check(
        key=k("check review"), control_point=k("prp training"), name="Review of the plan", how="Walk the flow",
        who="Ada", subject="premises", cadence={"kind": "plan_review"},
    )  # fmt: skip


def _programmes() -> tuple[ControlPoint, ...]:
    return tuple(
        ControlPoint(
            key=k(f"prp {name}"), kind="prerequisite", code=f"PRP {number}", name=words.capitalize(), programme=name,
            corrective_action="Put it right.",
        )
        for number, (name, words) in enumerate(PROGRAMMES.items(), 1)
    )  # fmt: skip


def _programme_checks() -> tuple[Check, ...]:
    return tuple(
        Check(
            key=k(f"check {name}"), control_point=k(f"prp {name}"), name=f"Check of {name}", how="Look", who="Helper",
            subject="premises", cadence=WEEKLY,
        )
        for name in PROGRAMMES
    )  # fmt: skip


def _programme_measures() -> tuple[Measure, ...]:
    return tuple(
        Measure(
            key=k(f"m {name}"),
            check=k(f"check {name}"),
            position=0,
            label="In order?",
            kind="answer",
            choices=("yes", "no"),
        )
        for name in PROGRAMMES
    )


def circumstances(plan: PlanDocument | None = None, **changes: Any) -> Circumstances:
    """Of a dairy in the Union with a fit recorder, the flow confirmed, the review not due."""
    here = Circumstances(
        jurisdiction="EU",
        today=TODAY,
        instruments=(InstrumentOwned("recorder", "Recorder", 0.2), InstrumentOwned("thermometer", "Thermometer", 0.2)),
        confirmed_flows=frozenset({flow_sha256(plan or sound_plan())}),
        review_due_on=dt.date(2027, 1, 1),
        review_reasons=("the yearly review",),
    )
    return dataclasses.replace(here, **changes)


@cache
def library() -> Library:
    return load_library(ROOT / "fixtures" / "library", ROOT / "fixtures" / "schemas" / "library-1.json")[0]


def by_the_library(jurisdiction: str, **changes: Any) -> Circumstances:
    """Of a dairy under that law, with what the library says of it."""
    law = tuple(library().values.values())
    titles = {key: document.title for key, document in library().documents.items()}
    return circumstances(
        jurisdiction=jurisdiction,
        floors=LibraryFloors(law, titles, TODAY),
        superseded=superseded_sources(library().documents, jurisdiction, TODAY),
        **changes,
    )


def changed(plan: PlanDocument, which: str, /, **fields: Any) -> PlanDocument:
    """With the fields of the part of that name (see k) changed."""
    return plan.with_part(dataclasses.replace(plan.by_key[k(which)], **fields))


def without(plan: PlanDocument, *names: str) -> PlanDocument:
    return plan.without({k(name) for name in names})

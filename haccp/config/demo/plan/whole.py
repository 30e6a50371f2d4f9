"""What makes the plan whole around its control points: team, flow, scale, decisions, evidence, records, review."""

from collections.abc import Iterator, Mapping
from datetime import date, timedelta

from haccp.config.demo.plan.flow import Flow
from haccp.config.demo.plan.hazards import Hazards
from haccp.plan.document.parts import (
    ControlMeasure,
    DecisionAnswers,
    KeptDocument,
    Link,
    Material,
    Part,
    ReviewTrigger,
    RiskLevel,
    TeamMember,
    Validation,
    Verification,
)
from haccp.plan.models import ControlPoint, PlanRevision

ROUTES = (
    ("milk", "store"),
    ("store", "pasteurise"),
    ("store", "thermise"),
    ("store", "warm"),
    ("pasteurise", "starter"),
    ("thermise", "starter"),
    ("warm", "starter"),
    ("starter", "set"),
    ("set", "cut"),
    ("set", "mould"),
    ("cut", "mould"),
    ("mould", "salt"),
    ("salt", "ripen"),
    ("ripen", "pack"),
    ("pack", "dispatch"),
)
MATERIALS = (
    ("milk", "in", "milk", "Ewes', goats' and cows' milk"),
    ("starter", "in", "ingredient", "Freeze-dried cultures"),
    ("set", "in", "ingredient", "Animal rennet"),
    ("cut", "out", "by_product", "Whey, to the pigs"),
    ("mould", "out", "by_product", "Whey, to the pigs"),
    ("salt", "in", "ingredient", "Salt, and brine"),
    ("pack", "in", "packaging", "Paper, boxes, labels"),
    ("dispatch", "out", "product", "Cheese with its delivery note"),
)
SCALE = {
    "likelihood": ("never heard of here", "once in years", "each year", "each month", "each week"),
    "severity": ("unnoticed", "discomfort", "illness of days", "hospital", "death or lasting harm"),
}
# Answers of the decision tree of 2022: hazard -> step -> answers.
AT_THE_CCP = {"q1": False, "q2": True, "q3": False, "q4": True}
BY_PROGRAMMES = {"q1": True}
DECISIONS: Mapping[str, Mapping[str, Mapping[str, bool]]] = {
    "brucella": {"milk": BY_PROGRAMMES},
    "residues": {"milk": BY_PROGRAMMES},
    "raw_stec": {"milk": {"q1": False, "q2": True, "q3": True}, "starter": AT_THE_CCP},
    "survival": {"pasteurise": AT_THE_CCP},
    "thermise_survival": {"thermise": AT_THE_CCP},
    "staph": {"starter": AT_THE_CCP},
    "listeria_ripening": {"ripen": BY_PROGRAMMES},
}
REASONS = {
    "brucella": "Herds and flock are officially free, and the certificate is renewed each year (PRP 1).",
    "residues": "Each lot is tested before it is used (PRP 1).",
    "raw_stec": "Hygiene lowers it, but only the fast fall of the pH and the ripening hold it down.",
    "survival": "No later step kills what survives.",
    "thermise_survival": "No later step lowers it as this one does.",
    "staph": "The toxin survives every later step.",
    "listeria_ripening": "Rooms, boards, drains and brushes: it is a matter of cleaning, and of looking monthly.",
}
CONTROLLED_BY = {
    "brucella": "PRP 1",
    "residues": "PRP 1",
    "raw_stec": "CCP 3",
    "survival": "CCP 1",
    "thermise_survival": "CCP 2",
    "staph": "CCP 3",
    "listeria_ripening": "PRP 5",
}
TRIGGERS = {
    "new_product": "Another cheese, another milk, another treatment of it.",
    "new_equipment": "A vat, a room, a cooler, or another way through the dairy.",
    "deviation_trend": "The same deviation three times in a quarter.",
    "published_limit": "A law or published limit that the plan rests on has changed.",
    "complaint": "Somebody fell ill.",
}


def parts_of_the_flow(flow: Flow) -> Iterator[Part]:
    for start, end in ROUTES:
        yield Link(start=flow[start].key, end=flow[end].key)
    for step, direction, kind, name in MATERIALS:
        yield Material(step=flow[step].key, direction=direction, kind=kind, name=name)
    yield Link(start=flow["pack"].key, end=flow["ripen"].key, kind="rework", label="cut face to be healed")


def parts_around(revision: PlanRevision, flow: Flow, hazards: Hazards, since: date) -> Iterator[Part]:
    """Once the control points are there, which evidence and decisions name."""
    points = {point.code: point for point in revision.control_points.prefetch_related("limits")}
    yield from _team()
    for axis, words in SCALE.items():
        for rank, word in enumerate(words, start=1):
            yield RiskLevel(axis=axis, rank=rank, word=word)
    for name, steps in DECISIONS.items():
        for step, answers in steps.items():
            yield DecisionAnswers(hazard=hazards[name].key, step=flow[step].key, answers=answers, reasons=REASONS[name])
        yield ControlMeasure(
            hazard=hazards[name].key,
            description=hazards[name].control_measure,
            control_point=points[CONTROLLED_BY[name]].key,
            step=flow[list(steps)[-1]].key,
        )
    yield from _evidence(points, since)
    yield from _verification(points, since)
    yield from _documents()
    for kind, description in TRIGGERS.items():
        yield ReviewTrigger(kind=kind, description=description)


def _team() -> Iterator[Part]:
    yield TeamMember(
        name="Nuala Breen",
        duty="leads the team; approves the plan, reviews the records",
        competence="HACCP course of three days (2023); eleven years of cheesemaking.",
    )
    yield TeamMember(
        name="Tomás Gale",
        duty="makes the cheese, knows the vats and rooms",
        competence="Food hygiene course (2024); six years of cheesemaking.",
    )
    yield TeamMember(
        name="Dr Hilda Orme",
        duty="advises on hazards and validation",
        competence="Food microbiologist, visits twice a year.",
        from_outside=True,
    )


def _evidence(points: Mapping[str, ControlPoint], since: date) -> Iterator[Part]:
    def shows(code: str, starts: str, kind: str, statement: str, document: str) -> Validation:
        point = points[code]
        limit = next(one for one in point.limits.all() if one.statement.startswith(starts))
        return Validation(
            control_point=point.key,
            limit=limit.key,
            kind=kind,
            statement=statement,
            document=document,
            performed_on=since - timedelta(days=40),
            performed_by="Hilda Orme and Nuala Breen",
        )

    yield shows(
        "CCP 1", "At least 63 °C", "law", "The pair of the law; the coldest place of Vat 1 was found with five probes.",
        "Regulation (EC) 853/2004, Annex III, section IX, chapter II, part II; report V-04",
    )  # fmt: skip
    yield shows(
        "CCP 1", "Phosphatase", "literature", "Goat's milk heated in full stayed below 200 mU/L in twelve vats.",
        "EFSA Journal 2021, phosphatase in goat's and sheep's milk; report V-04",
    )  # fmt: skip
    yield shows(
        "CCP 2", "At least 64 °C", "trial", "Counts of coliforms fell by three powers of ten in twelve vats.",
        "Report V-02",
    )  # fmt: skip
    for cheese, report in (("Rushfield Ewe", "V-01"), ("Little Catkin", "V-03"), ("Alder Square", "V-02")):
        yield shows(
            "CCP 3", cheese, "trial", "At this fall of the pH no coagulase-positive staphylococci above 1000 cfu/g.",
            f"Report {report}",
        )  # fmt: skip


def _verification(points: Mapping[str, ControlPoint], since: date) -> Iterator[Part]:
    def every(rule: str) -> dict[str, str]:
        return {"kind": "clock", "rrule": f"{rule};BYHOUR=9;BYMINUTE=0;BYSECOND=0", "from": since.isoformat()}

    yield Verification(
        what="The day books of the week are read", how="Every record, every ruling, every gap.", who="Nuala",
        cadence=every("FREQ=WEEKLY;BYDAY=MO"),
    )  # fmt: skip
    yield Verification(
        what="Cheese tested: Listeria, STEC, Salmonella, staphylococci",
        how="Five units of each cheese, sent to the laboratory when counts are expected highest.", who="Tomás",
        cadence=every("FREQ=MONTHLY;BYMONTHDAY=10"),
    )  # fmt: skip
    for code, what in (
        ("CCP 1", "Recorder against the reference thermometer"),
        ("CCP 2", "Recorder against the reference thermometer"),
        ("CCP 3", "pH meter in fresh buffers, beside the laboratory's"),
    ):
        yield Verification(
            control_point=points[code].key, what=what, who="Nuala", cadence=every("FREQ=MONTHLY;BYMONTHDAY=1")
        )


def _documents() -> Iterator[Part]:
    for name, kind, where, days in (
        ("This plan with all its revisions", "document", "in this service", None),
        ("Records of monitoring, deviations and corrective actions", "record", "in this service", 1825),
        ("Validation reports V-01 to V-04", "document", "folder in the office", 3650),
        ("Certificates of the herds and of instruments", "document", "folder in the office", 1825),
        ("Results of the laboratory", "record", "folder in the office", 1825),
    ):
        yield KeptDocument(name=name, kind=kind, kept_where=where, responsible="Nuala", retention_days=days)

"""The plan as people walk through it: the twelve steps of application, what each holds, and where a finding belongs."""

from collections.abc import Iterable
from dataclasses import dataclass

from haccp.plan.document import Part, PlanDocument
from haccp.plan.findings import Finding


@dataclass(frozen=True, slots=True)
class Shown:
    """A kind of part on a section's page. fields: only these are shown and typed there; empty for all.

    point_kind: of control points, only this kind. adds: whether new ones are added here. beneath: the kind whose
    parts these are shown under.
    """

    kind: str
    heading: str
    help: str = ""
    fields: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    point_kind: str = ""
    adds: bool = True
    beneath: str = ""

    def parts(self, document: PlanDocument) -> list[Part]:
        found: list[Part] = list(getattr(document, self.kind))
        found = [part for part in found if not self.point_kind or getattr(part, "kind", "") == self.point_kind]
        if self.kind not in ("links", "materials"):
            return found
        positions = {step.key: step.position for step in document.steps}
        return sorted(found, key=lambda part: positions[getattr(part, "start", "") or getattr(part, "step", "")])


@dataclass(frozen=True, slots=True)
class Section:
    """number: of the step of application; "" for what stands beside the twelve."""

    slug: str
    number: str
    title: str
    asks: str
    shown: tuple[Shown, ...] = ()

    def count(self, document: PlanDocument) -> int:
        return sum(len(one.parts(document)) for one in self.shown if not one.beneath)


_USE = ("intended_use", "vulnerable_consumers")
_ACTION = ("corrective_action", "disposition")
# CXC 1-1969 (2022), chapter two, section 3.2 onward: the twelve steps of application, in their order.
SECTIONS: tuple[Section, ...] = (
    Section("scope", "", "Scope and thresholds", "What does the plan cover, and from when is a hazard significant?"),
    Section(
        "team", "1", "Team", "Who keeps this plan, and what makes them fit for it?",
        (Shown("team_members", "People of the team"),),
    ),
    Section(
        "product", "2", "Products", "What is the cheese made of, and what keeps it safe?",
        (Shown("descriptions", "Descriptions", without=_USE),),
    ),
    Section(
        "use", "3", "Intended use", "Who eats it, how, and who of them is easily harmed?",
        (Shown("descriptions", "Use of each cheese", fields=_USE, adds=False),),
    ),
    Section(
        "flow", "4", "Flow diagram", "Every step from milk to dispatch, with what goes in, out and back.",
        (
            Shown("steps", "Steps"),
            Shown("links", "Ways between steps", "Rework leads back; a branch splits the flow."),
            Shown("materials", "What goes in and comes out"),
        ),
    ),
    Section("confirmation", "5", "Confirmation on site", "Walk the process with the diagram in hand, and sign it."),
    Section(
        "hazards", "6", "Hazard analysis", "What can go wrong at each step, how likely, how bad, and what controls it?",
        (
            Shown("hazards", "Hazard worksheet"),
            Shown("control_measures", "Control measures", "Where each hazard is controlled, and by what."),
            Shown("risk_levels", "Your scale", "Likelihood and severity in your own words."),
        ),
    ),
    Section(
        "ccps", "7", "Critical control points", "By the decision tree: where must a hazard be controlled?",
        (Shown("control_points", "Critical control points", without=_ACTION, point_kind="ccp"),),
    ),
    Section(
        "limits", "8", "Critical limits", "What value divides safe from unsafe, and on whose authority?",
        (Shown("limits", "Limits"),),
    ),
    Section(
        "monitoring", "9", "Monitoring", "What is looked at, how, when and by whom?",
        (Shown("checks", "Checks"), Shown("measures", "What is entered at a check", beneath="checks")),
    ),
    Section(
        "actions", "10", "Corrective actions", "What is done when a limit is not met, and with the product?",
        (Shown("control_points", "For each control point", fields=_ACTION, adds=False),),
    ),
    Section(
        "assurance", "11", "Validation and verification", "What shows that it works, and that it is done?",
        (
            Shown("validations", "Validation"),
            Shown("verifications", "Verification"),
            Shown("review_triggers", "What makes you review the plan early"),
        ),
    ),
    Section(
        "documents", "12", "Documents and records", "What is kept, where, and for how long?",
        (Shown("documents", "Documents and records"),),
    ),
    Section(
        "programmes", "", "Prerequisite programmes", "Water, cleaning, pests, people: the ground to stand on.",
        (Shown("control_points", "Programmes", without=("step",), point_kind="prerequisite"),),
    ),
    Section(
        "judgements", "", "Open questions and sources", "What only you can answer, and what was borrowed from whom.",
        (
            Shown("judgements", "Questions"),
            Shown("borrowed", "Sources of borrowed values"),
        ),
    ),
)  # fmt: skip
BY_SLUG = {section.slug: section for section in SECTIONS}

_OF_KIND = {
    "team_members": "team",
    "descriptions": "product",
    "steps": "flow",
    "links": "flow",
    "materials": "flow",
    "risk_levels": "hazards",
    "hazards": "hazards",
    "control_measures": "hazards",
    "decisions": "ccps",
    "limits": "limits",
    "checks": "monitoring",
    "measures": "monitoring",
    "validations": "assurance",
    "verifications": "assurance",
    "review_triggers": "assurance",
    "documents": "documents",
    "borrowed": "judgements",
    "judgements": "judgements",
}
# Rules whose remedy lies elsewhere than where their part is kept.
_OF_RULE = {
    "product.intended_use": "use",
    "product.vulnerable_consumers": "use",
    "flow.unconfirmed": "confirmation",
    "hazard.kind_not_considered": "hazards",
    "hazard.step_not_analysed": "hazards",
    "decision.unanswered": "ccps",
    "ccp.no_limit": "limits",
    "ccp.no_monitoring": "monitoring",
    "check.too_rare": "monitoring",
    "programme.unchecked": "monitoring",
    "ccp.no_corrective_action": "actions",
    "ccp.no_disposition": "actions",
    "programme.no_corrective_action": "actions",
    "ccp.no_validation": "assurance",
    "ccp.no_verification": "assurance",
    "risk.no_threshold": "scope",
    "heat.missing": "limits",
}
_OF_SUBJECT = {
    "team": "team",
    "product": "product",
    "flow": "flow",
    "hazard": "hazards",
    "risk": "hazards",
    "decision": "ccps",
    "ccp": "ccps",
    "limit": "limits",
    "heat": "limits",
    "check": "monitoring",
    "ageing": "product",
    "raw_milk": "product",
    "verification": "assurance",
    "validation": "assurance",
    "review": "assurance",
    "documents": "documents",
    "programme": "programmes",
}


def section_of(finding: Finding, document: PlanDocument) -> str:
    """The slug of the section where the finding is put right."""
    if finding.rule in _OF_RULE:
        return _OF_RULE[finding.rule]
    if finding.part_kind == "control_points":
        point = document.by_key.get(finding.part_key)
        return "programmes" if getattr(point, "kind", "") == "prerequisite" else "ccps"
    return _OF_KIND.get(finding.part_kind) or _OF_SUBJECT.get(finding.rule.split(".")[0], "scope")


def by_section(findings: Iterable[Finding], document: PlanDocument) -> dict[str, list[Finding]]:
    found: dict[str, list[Finding]] = {section.slug: [] for section in SECTIONS}
    for finding in findings:
        found[section_of(finding, document)].append(finding)
    return found


def section_of_part(part: Part, kind: str) -> str:
    """Where a part is edited in full."""
    if kind == "control_points":
        return "programmes" if getattr(part, "kind", "") == "prerequisite" else "ccps"
    return _OF_KIND[kind]

"""The plan examined, as a compiler examines code: what it lacks, and where it is laxer than the law.

Pure: a document and its circumstances in, findings out. Each rule stands in the module of its subject.
"""

from haccp.plan.document import PlanDocument
from haccp.plan.findings import (  # noqa: F401  importing a module registers its rules
    ageing,
    assurance,
    control_points,
    determination,
    flow,
    hazards,
    heat,
    limits,
    monitoring,
    prerequisites,
    products,
    team,
    upkeep,
)
from haccp.plan.findings.circumstances import Circumstances, InstrumentOwned
from haccp.plan.findings.examined import Examined
from haccp.plan.findings.finding import RULES, Finding, Rule, Severity, findings_of, in_order

__all__ = ["RULES", "Circumstances", "Finding", "InstrumentOwned", "Rule", "Severity", "examine"]


def examine(document: PlanDocument, circumstances: Circumstances) -> list[Finding]:
    """All findings, those that block approval first. Time grows linearly with the parts."""
    plan = Examined(document, circumstances)
    return in_order([finding for rule in RULES.values() for finding in findings_of(rule, plan)])

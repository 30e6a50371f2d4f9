"""The food-safety plan: revisions and their parts, and what happens to a plan after its approval."""

from haccp.plan.models.analysis import ControlMeasure, DecisionAnswers
from haccp.plan.models.assurance import KeptDocument, Validation, Verification
from haccp.plan.models.confirmation import FlowConfirmation
from haccp.plan.models.control import ControlPoint, CriticalLimit
from haccp.plan.models.description import ProductDescription
from haccp.plan.models.flow import FlowLink, StepMaterial
from haccp.plan.models.library import LibraryBlock, LibraryDocument, LibraryHazard, LibraryLoad, LibraryValue
from haccp.plan.models.monitoring import Check, Measure
from haccp.plan.models.part import PartOfPlan
from haccp.plan.models.process import Hazard, ProcessStep
from haccp.plan.models.product import MilkSpecies, MilkTreatment, Product
from haccp.plan.models.provenance import Borrowed, OpenJudgement
from haccp.plan.models.review import PlanReview, ReviewOccasion, ReviewTrigger, TriggerKind
from haccp.plan.models.revision import PlanRevision
from haccp.plan.models.risk import RiskLevel
from haccp.plan.models.team import TeamMember

__all__ = [
    "Borrowed",
    "Check",
    "ControlMeasure",
    "ControlPoint",
    "CriticalLimit",
    "DecisionAnswers",
    "FlowConfirmation",
    "FlowLink",
    "Hazard",
    "KeptDocument",
    "LibraryBlock",
    "LibraryDocument",
    "LibraryHazard",
    "LibraryLoad",
    "LibraryValue",
    "Measure",
    "MilkSpecies",
    "MilkTreatment",
    "OpenJudgement",
    "PartOfPlan",
    "PlanReview",
    "PlanRevision",
    "ProcessStep",
    "Product",
    "ProductDescription",
    "ReviewOccasion",
    "ReviewTrigger",
    "RiskLevel",
    "StepMaterial",
    "TeamMember",
    "TriggerKind",
    "Validation",
    "Verification",
]

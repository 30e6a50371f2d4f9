"""The food-safety plan: revisions, steps, hazards, control points, limits, and the checks that watch them."""

from haccp.plan.models.control import ControlPoint, CriticalLimit
from haccp.plan.models.library import LibraryBlock, LibraryDocument, LibraryHazard, LibraryLoad, LibraryValue
from haccp.plan.models.monitoring import Check, Measure
from haccp.plan.models.process import Hazard, ProcessStep
from haccp.plan.models.product import MilkSpecies, MilkTreatment, Product
from haccp.plan.models.revision import PlanRevision

__all__ = [
    "Check",
    "ControlPoint",
    "CriticalLimit",
    "Hazard",
    "LibraryBlock",
    "LibraryDocument",
    "LibraryHazard",
    "LibraryLoad",
    "LibraryValue",
    "Measure",
    "MilkSpecies",
    "MilkTreatment",
    "PlanRevision",
    "ProcessStep",
    "Product",
]

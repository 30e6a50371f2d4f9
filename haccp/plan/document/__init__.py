"""The plan as a value, apart from any database."""

from haccp.plan.document.document import KIND_WORDS, KINDS, PlaceNamed, PlanDocument, ProductNamed, kind_name
from haccp.plan.document.parts import Part

__all__ = ["KINDS", "KIND_WORDS", "Part", "PlaceNamed", "PlanDocument", "ProductNamed", "kind_name"]

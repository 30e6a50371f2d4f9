"""The library of published knowledge, and the draft plans drawn from it. No Django in here."""

from haccp.plan.library.draft import draft_plan
from haccp.plan.library.faults import Fault, LibraryError
from haccp.plan.library.library import Library
from haccp.plan.library.loading import load_library
from haccp.plan.library.plan_draft import PlanDraft

__all__ = ["Fault", "Library", "LibraryError", "PlanDraft", "draft_plan", "load_library"]

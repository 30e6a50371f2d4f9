"""Pages about makes: the list, a new make, its sheet, one batch and what happens in it, and the procedures."""

from batches.making.views.batch import batch
from batches.making.views.brines import brine, brine_discard, brine_lay_in, brine_new, brine_refresh, brines
from batches.making.views.event import event, event_time
from batches.making.views.heat import heat, phosphatase
from batches.making.views.makes import make_list, make_new
from batches.making.views.procedures import (
    draft,
    draft_new,
    draft_stage,
    draft_stage_new,
    procedure,
    procedures,
)
from batches.making.views.sheet import sheet, stage, weigh

__all__ = [
    "batch",
    "brine",
    "brine_discard",
    "brine_lay_in",
    "brine_new",
    "brine_refresh",
    "brines",
    "draft",
    "draft_new",
    "draft_stage",
    "draft_stage_new",
    "event",
    "event_time",
    "heat",
    "make_list",
    "make_new",
    "phosphatase",
    "procedure",
    "procedures",
    "sheet",
    "stage",
    "weigh",
]

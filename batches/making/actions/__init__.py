"""Every write about makes and the procedures that they follow: one function, one transaction."""

from batches.making.actions.brine import batch_lay_in_brine, brine_discard, brine_make_up, brine_refresh
from batches.making.actions.heat import DiversionTyped, ThermometerTyped, heat_sheet_save, phosphatase_record
from batches.making.actions.procedures import (
    dose_put,
    dose_remove,
    draft_discard,
    milk_put,
    milk_remove,
    procedure_draft,
    procedure_put_in_use,
    stage_move,
    stage_put,
    stage_remove,
)
from batches.making.actions.serving import checks_served, records_of
from batches.making.actions.stages import ReadingTyped, stage_record
from batches.making.actions.start import make_start
from batches.making.actions.uses import UseTyped, ingredient_use
from batches.making.actions.weighing import yield_record

__all__ = [
    "DiversionTyped",
    "ReadingTyped",
    "ThermometerTyped",
    "UseTyped",
    "batch_lay_in_brine",
    "brine_discard",
    "brine_make_up",
    "brine_refresh",
    "checks_served",
    "dose_put",
    "dose_remove",
    "draft_discard",
    "heat_sheet_save",
    "ingredient_use",
    "make_start",
    "milk_put",
    "milk_remove",
    "phosphatase_record",
    "procedure_draft",
    "procedure_put_in_use",
    "records_of",
    "stage_move",
    "stage_put",
    "stage_record",
    "stage_remove",
    "yield_record",
]

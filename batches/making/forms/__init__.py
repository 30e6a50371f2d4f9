"""Makes, their stages and their procedures, as they are typed."""

from batches.making.forms.brine import BrineForm, DiscardForm, LayInForm, RefreshForm
from batches.making.forms.heat import HeatSheetForm, PhosphataseForm
from batches.making.forms.make import EventCorrectForm, EventForm, MakeForm, milk_field
from batches.making.forms.procedure import DoseForm, DraftForm, MilkShareForm, PutInUseForm, StageDraftForm
from batches.making.forms.stage import StageForm, as_it_was
from batches.making.forms.weighing import YieldForm

__all__ = [
    "BrineForm",
    "DiscardForm",
    "DoseForm",
    "DraftForm",
    "EventCorrectForm",
    "EventForm",
    "HeatSheetForm",
    "LayInForm",
    "MakeForm",
    "MilkShareForm",
    "PhosphataseForm",
    "PutInUseForm",
    "RefreshForm",
    "StageDraftForm",
    "StageForm",
    "YieldForm",
    "as_it_was",
    "milk_field",
]

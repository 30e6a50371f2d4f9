"""Makes, their stages and their procedures, as they are typed."""

from batches.making.forms.brine import BrineForm, DiscardForm, LayInForm, RefreshForm
from batches.making.forms.heat import HeatSheetForm, PhosphataseForm
from batches.making.forms.make import EventForm, MakeForm, milk_field
from batches.making.forms.procedure import DoseForm, DraftForm, MilkShareForm, PutInUseForm, StageDraftForm
from batches.making.forms.stage import StageForm
from batches.making.forms.weighing import YieldForm

__all__ = [
    "BrineForm",
    "DiscardForm",
    "DoseForm",
    "DraftForm",
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
    "milk_field",
]

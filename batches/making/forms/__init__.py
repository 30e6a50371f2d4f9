"""Makes, their stages and their procedures, as they are typed."""

from batches.making.forms.heat import HeatSheetForm, PhosphataseForm
from batches.making.forms.make import EventForm, MakeForm, milk_field
from batches.making.forms.procedure import DoseForm, DraftForm, MilkShareForm, PutInUseForm, StageDraftForm
from batches.making.forms.stage import StageForm
from batches.making.forms.weighing import YieldForm

__all__ = [
    "DoseForm",
    "DraftForm",
    "EventForm",
    "HeatSheetForm",
    "MakeForm",
    "MilkShareForm",
    "PhosphataseForm",
    "PutInUseForm",
    "StageDraftForm",
    "StageForm",
    "YieldForm",
    "milk_field",
]

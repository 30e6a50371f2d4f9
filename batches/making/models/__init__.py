"""A make: its vat, the procedure that it follows, what was done at each stage, what went in and what came out."""

from batches.making.models.brine import Brine, BrineChange, BrineUse
from batches.making.models.heat import FlowDiversion, HeatSheet, PhosphataseResult, ThermometerReading
from batches.making.models.make import Make
from batches.making.models.procedure import Dose, Procedure, ProcedureMilk, ProcedureStage, StageKind
from batches.making.models.stage import StageMark, StageReading
from batches.making.models.use import IngredientUse
from batches.making.models.weighed import MakeYield

__all__ = [
    "Brine",
    "BrineChange",
    "BrineUse",
    "Dose",
    "FlowDiversion",
    "HeatSheet",
    "IngredientUse",
    "Make",
    "MakeYield",
    "PhosphataseResult",
    "Procedure",
    "ProcedureMilk",
    "ProcedureStage",
    "StageKind",
    "StageMark",
    "StageReading",
    "ThermometerReading",
]

"""What comes in: suppliers, milk, ingredients, what was found of them, and whether they were accepted."""

from batches.intake.models.acceptance import Acceptance
from batches.intake.models.counts import MilkCount
from batches.intake.models.finding import MilkFinding
from batches.intake.models.ingredient import IngredientLot, StockChange
from batches.intake.models.milk import MilkLot
from batches.intake.models.supplier import Supplier

__all__ = ["Acceptance", "IngredientLot", "MilkCount", "MilkFinding", "MilkLot", "StockChange", "Supplier"]

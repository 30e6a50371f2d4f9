"""What comes in, as it is typed."""

from batches.intake.forms.counts import CountForm
from batches.intake.forms.decision import DecisionForm
from batches.intake.forms.findings import CoolingForm, FindingForm
from batches.intake.forms.ingredients import IngredientForm, StockForm
from batches.intake.forms.milk import MilkForm
from batches.intake.forms.suppliers import SupplierForm

__all__ = [
    "CoolingForm",
    "CountForm",
    "DecisionForm",
    "FindingForm",
    "IngredientForm",
    "MilkForm",
    "StockForm",
    "SupplierForm",
]

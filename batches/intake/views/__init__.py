"""Pages about what comes in: milk, its counts, suppliers, ingredients."""

from batches.intake.views.counts import count_correct, count_new, counts
from batches.intake.views.findings import cooling, cooling_file, decide, finding
from batches.intake.views.ingredients import ingredient, ingredient_new, ingredients, stock
from batches.intake.views.milk import milk_detail, milk_list, milk_new
from batches.intake.views.suppliers import supplier, supplier_new, supplier_retire, suppliers

__all__ = [
    "cooling",
    "cooling_file",
    "count_correct",
    "count_new",
    "counts",
    "decide",
    "finding",
    "ingredient",
    "ingredient_new",
    "ingredients",
    "milk_detail",
    "milk_list",
    "milk_new",
    "stock",
    "supplier",
    "supplier_new",
    "supplier_retire",
    "suppliers",
]

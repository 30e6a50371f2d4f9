"""Every write about cleaning and swabs: one function, one transaction."""

from batches.hygiene.actions.cleaning import cleaning_record
from batches.hygiene.actions.methods import StepTyped, chemical_add, chemical_lot_add, method_end, method_set
from batches.hygiene.actions.swabs import (
    keep_test_result,
    rota_set,
    swab_point_add,
    swab_result_add,
    swab_take,
    swabs_send,
)
from batches.hygiene.actions.use import equipment_use, refuse_unclean, unclean_use_open

__all__ = [
    "StepTyped",
    "chemical_add",
    "chemical_lot_add",
    "cleaning_record",
    "equipment_use",
    "keep_test_result",
    "method_end",
    "method_set",
    "refuse_unclean",
    "rota_set",
    "swab_point_add",
    "swab_result_add",
    "swab_take",
    "swabs_send",
    "unclean_use_open",
]

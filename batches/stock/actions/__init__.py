"""Every write about stock: one function, one transaction."""

from batches.stock.actions.arrival import arrival_accept
from batches.stock.actions.counter import counter_open, counter_total
from batches.stock.actions.customers import customer_add, customer_change, customer_retire
from batches.stock.actions.dispatch import dispatch_record
from batches.stock.actions.items import item_cut, item_event, items_add, items_move
from batches.stock.actions.numbers import party_number_set, trade_number_set
from batches.stock.actions.returns import items_return

__all__ = [
    "arrival_accept",
    "counter_open",
    "counter_total",
    "customer_add",
    "customer_change",
    "customer_retire",
    "dispatch_record",
    "item_cut",
    "item_event",
    "items_add",
    "items_move",
    "items_return",
    "party_number_set",
    "trade_number_set",
]

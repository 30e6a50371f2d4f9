"""Pages about stock: what is there, one batch's pieces, one piece, dispatches, customers, the counter, labels."""

from batches.stock.views.arrivals import arrival_list, arriving
from batches.stock.views.counter import counter
from batches.stock.views.customers import customer, customer_list, customer_new
from batches.stock.views.dispatches import dispatch, dispatch_back, dispatch_list, dispatch_new
from batches.stock.views.items import item, item_cut, item_event
from batches.stock.views.labels import batch_label, instrument_label, label_list, numbers, place_label, scanned
from batches.stock.views.stock import batch_stock, items_add, stock_list

__all__ = [
    "arrival_list",
    "arriving",
    "batch_label",
    "batch_stock",
    "counter",
    "customer",
    "customer_list",
    "customer_new",
    "dispatch",
    "dispatch_back",
    "dispatch_list",
    "dispatch_new",
    "instrument_label",
    "item",
    "item_cut",
    "item_event",
    "items_add",
    "label_list",
    "numbers",
    "place_label",
    "scanned",
    "stock_list",
]

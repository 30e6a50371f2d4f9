"""Pages about makes: the list, a new make, one batch, and what happens in it."""

from batches.making.views.batch import batch
from batches.making.views.event import event
from batches.making.views.makes import make_list, make_new

__all__ = ["batch", "event", "make_list", "make_new"]

"""A make: the detail behind a batch."""

from django.db import models

from batches.making.models.procedure import Procedure
from haccp.lots.models import Lot
from haccp.premises.models import Place


class Make(models.Model):
    """One vat of one product. The milk in it is the batch's links; what happened is its events, marks and records.

    procedure: the version in use when it started; None where the product had none.
    """

    lot = models.OneToOneField(Lot, on_delete=models.PROTECT, primary_key=True, related_name="make")
    vat = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")
    procedure = models.ForeignKey(Procedure, on_delete=models.PROTECT, null=True, blank=True, related_name="makes")
    note = models.TextField(blank=True)

    def __str__(self) -> str:
        return str(self.lot)

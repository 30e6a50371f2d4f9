"""A make: the detail behind a batch."""

from django.db import models

from haccp.lots.models import Lot
from haccp.premises.models import Place


class Make(models.Model):
    """One vat of one product. The milk in it is the batch's links; what happened is its events and records."""

    lot = models.OneToOneField(Lot, on_delete=models.PROTECT, primary_key=True, related_name="make")
    vat = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")
    note = models.TextField(blank=True)

    def __str__(self) -> str:
        return str(self.lot)

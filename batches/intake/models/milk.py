"""Milk as it arrived: the detail behind a milk lot."""

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from batches.intake.models.supplier import Supplier
from haccp.lots.models import Lot
from haccp.plan.models import MilkSpecies


class MilkLot(models.Model):
    """volume_l in litres; typed_volume and typed_unit as the person wrote it.

    milked_from, milked_until: start of the first and end of the last milking in it.
    """

    lot = models.OneToOneField(Lot, on_delete=models.PROTECT, primary_key=True, related_name="milk")
    species = models.CharField(max_length=12, choices=MilkSpecies.choices)
    source = models.CharField(max_length=120, help_text=_("own herd, or the supplier"))
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, null=True, blank=True, related_name="milk")
    volume_l = models.FloatField()
    typed_volume = models.CharField(max_length=40)
    typed_unit = models.CharField(max_length=8)
    milked_from = models.DateTimeField(null=True, blank=True)
    milked_until = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar = [models.CheckConstraint(condition=models.Q(volume_l__gt=0), name="milk_has_a_volume")]

    def __str__(self) -> str:
        return f"{self.lot.code} {self.get_species_display()}"

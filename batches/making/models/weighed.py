"""What a make gave."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone

from batches.making.models.make import Make
from haccp.premises.models import User


class MakeYield(models.Model):
    """cheese_kg: the whole make, weighed. Milk's fat, protein, casein in g/100 g; moisture in g/100 g of the cheese.
    The last one of a make counts, all are kept."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    make = models.ForeignKey(Make, on_delete=models.PROTECT, related_name="yields")
    cheese_kg = models.FloatField()
    typed_text = models.CharField(max_length=40)
    typed_unit = models.CharField(max_length=8)
    weighed_at = models.DateTimeField()
    fat_percent = models.FloatField(null=True, blank=True)
    protein_percent = models.FloatField(null=True, blank=True)
    casein_percent = models.FloatField(null=True, blank=True)
    moisture_percent = models.FloatField(null=True, blank=True)
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["weighed_at", "recorded_at"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(cheese_kg__gt=0), name="a_yield_is_above_zero")
        ]

    def __str__(self) -> str:
        return f"{self.typed_text} {self.typed_unit}"

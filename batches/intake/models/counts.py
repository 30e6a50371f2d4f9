"""Periodic results of raw milk: plate counts and somatic cells, by supplier and species."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from batches.intake.models.supplier import Supplier
from haccp.plan.models import MilkSpecies
from haccp.premises.models import Premises, User


class MilkCount(models.Model):
    """value in cfu/mL or cells/mL. is_below: the laboratory reported “less than” the value, which is then counted as
    the value itself. corrects: an earlier row that was wrong; note says why."""

    class Quantity(models.TextChoices):
        PLATE_COUNT = "count_cfu", _("plate count at 30 °C")
        CELLS = "somatic_cells", _("somatic cells")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="milk_counts")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="counts")
    species = models.CharField(max_length=12, choices=MilkSpecies.choices)
    quantity = models.CharField(max_length=16, choices=Quantity.choices)
    sampled_on = models.DateField()
    value = models.FloatField()
    is_below = models.BooleanField(default=False)
    typed_text = models.CharField(max_length=80)
    typed_unit = models.CharField(max_length=16)
    laboratory = models.CharField(max_length=120, blank=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["sampled_on", "recorded_at"]
        indexes: ClassVar = [models.Index(fields=["premises", "supplier", "sampled_on"])]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(value__gt=0), name="a_count_is_above_zero"),
            models.CheckConstraint(
                condition=models.Q(corrects__isnull=True) | ~models.Q(note=""), name="a_corrected_count_says_why"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_quantity_display()} {self.typed_text}"

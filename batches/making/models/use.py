"""An ingredient lot went into a make."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone

from batches.making.models.make import Make
from batches.making.models.procedure import Dose, ProcedureStage
from haccp.lots.models import LotLink
from haccp.premises.models import User


class IngredientUse(models.Model):
    """The detail behind a link from an ingredient lot to a batch: at which stage, by which dose, as typed."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    make = models.ForeignKey(Make, on_delete=models.PROTECT, related_name="uses")
    link = models.OneToOneField(LotLink, on_delete=models.PROTECT, related_name="use")
    stage = models.ForeignKey(ProcedureStage, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    dose = models.ForeignKey(Dose, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    typed_text = models.CharField(max_length=40)
    typed_unit = models.CharField(max_length=8)
    used_at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["used_at", "recorded_at"]

    def __str__(self) -> str:
        return f"{self.typed_text} {self.typed_unit}"

"""That somebody walked the flow and found it as drawn."""

import uuid
from typing import ClassVar

from django.db import models

from haccp.ledger.models import Signature
from haccp.plan.models.revision import PlanRevision


class FlowConfirmation(models.Model):
    """flow_sha256: of the flow as it was shown and signed, so that a later change of the flow leaves it behind."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    revision = models.ForeignKey(PlanRevision, on_delete=models.PROTECT, related_name="flow_confirmations")
    confirmed_on = models.DateField()
    note = models.TextField(blank=True)
    flow_sha256 = models.CharField(max_length=64)
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-confirmed_on"]

    def __str__(self) -> str:
        return f"{self.revision}, {self.confirmed_on:%Y-%m-%d}"

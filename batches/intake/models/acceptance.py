"""Whether a lot may be used: a person's decision. The last one counts, all are shown; without one it is undecided."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.lots.models import Lot
from haccp.premises.models import User


class Acceptance(models.Model):
    class Decision(models.TextChoices):
        ACCEPTED = "accepted", _("accepted")
        REFUSED = "refused", _("refused")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="acceptances")
    decision = models.CharField(max_length=8, choices=Decision.choices)
    reason = models.TextField(blank=True)
    decided_at = models.DateTimeField(default=timezone.now)
    decided_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["decided_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=~models.Q(decision="refused") | ~models.Q(reason=""), name="a_refusal_has_a_reason"
            )
        ]

    def __str__(self) -> str:
        return str(self.get_decision_display())

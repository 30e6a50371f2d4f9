"""Periods in which the dairy takes no milk or makes no cheese, said before they begin."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.premises.models import Premises, User


class ClosedPeriod(models.Model):
    """first, last: local days, both inclusive. A later start again is a row of its own (Reopening)."""

    class Without(models.TextChoices):
        MILK = "milk", _("no milk comes in, and no cheese is made")
        MAKING = "making", _("no cheese is made; milk may come in")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="closed_periods")
    without = models.CharField(max_length=8, choices=Without.choices)
    first = models.DateField()
    last = models.DateField()
    reason = models.TextField()
    said_at = models.DateTimeField(default=timezone.now)
    said_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-first"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(last__gte=models.F("first")), name="a_closed_period_ends_after_its_start"
            )
        ]

    def __str__(self) -> str:
        return f"{self.first} to {self.last}"


class Reopening(models.Model):
    """The dairy starts again on a day before the period's last: checks are due from that day on."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    period = models.OneToOneField(ClosedPeriod, on_delete=models.PROTECT, related_name="reopening")
    on = models.DateField()
    said_at = models.DateTimeField(default=timezone.now)
    said_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"open again on {self.on}"

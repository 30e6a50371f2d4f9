"""Public holidays and other days on which nobody has to work: they do not count where a time runs in working days."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone

from haccp.premises.models import Premises, User


class FreeDay(models.Model):
    """Whether a local day is free. What was said last of a day counts; a day of which nothing was said is free on
    weekends alone."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="+")
    day = models.DateField()
    is_free = models.BooleanField(default=True)
    name = models.CharField(max_length=120, blank=True)
    said_at = models.DateTimeField(default=timezone.now)
    said_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["day", "said_at"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(is_free=False) | ~models.Q(name=""), name="a_free_day_has_a_name")
        ]
        indexes: ClassVar = [models.Index(fields=["premises", "day"], name="free_days_of_premises")]

    def __str__(self) -> str:
        return f"{self.day}: {self.name or 'working day'}"

"""Who was trained in what, by whom, and until when it counts. Sealed; a later training of the same subject replaces the
one before, and both are kept."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.premises.models import Premises, User


class Training(models.Model):
    """valid_until: the last day on which it counts; null where it does not run out."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="trainings")
    person = models.ForeignKey(User, on_delete=models.PROTECT, related_name="trainings")
    subject = models.CharField(max_length=120, help_text=_("Food hygiene, the pasteuriser, this plan ..."))
    given_by = models.CharField(max_length=120, help_text=_("Who taught it, or whose certificate it is"))
    given_on = models.DateField()
    valid_until = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-given_on", "-recorded_at"]
        indexes: ClassVar = [models.Index(fields=["premises", "person"])]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(valid_until__isnull=True) | Q(valid_until__gte=F("given_on")),
                name="a_training_counts_from_the_day_it_was_given",
            )
        ]

    def __str__(self) -> str:
        return f"{self.person.name}: {self.subject}"

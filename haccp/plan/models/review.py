"""What makes a plan be reviewed, what happened that did, and the reviews themselves."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.ledger.models import Signature
from haccp.plan.models.part import PartOfPlan
from haccp.plan.models.revision import PlanRevision
from haccp.premises.models import Premises, User


class TriggerKind(models.TextChoices):
    NEW_PRODUCT = "new_product", _("new product")
    NEW_EQUIPMENT = "new_equipment", _("new equipment or process")
    DEVIATION_TREND = "deviation_trend", _("trend of deviations")
    PUBLISHED_LIMIT = "published_limit", _("changed law or published limit")
    COMPLAINT = "complaint", _("complaint or illness")
    NEW_KNOWLEDGE = "new_knowledge", _("new knowledge of a hazard")
    OTHER = "other", _("other reason")


class ReviewTrigger(PartOfPlan):
    """What, by the plan's own words, makes it be reviewed before its time."""

    kind = models.CharField(max_length=20, choices=TriggerKind.choices)
    description = models.TextField(blank=True)

    class Meta:
        ordering: ClassVar = ["kind"]

    def __str__(self) -> str:
        return self.get_kind_display()


class ReviewOccasion(models.Model):
    """Something that happened and makes a review due."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="review_occasions")
    kind = models.CharField(max_length=20, choices=TriggerKind.choices)
    description = models.TextField()
    occurred_at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["occurred_at"]
        indexes: ClassVar = [models.Index(fields=["premises", "occurred_at"])]

    def __str__(self) -> str:
        return self.description


class PlanReview(models.Model):
    """A review of the revision in force, signed. What it found to change goes into a new draft."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    revision = models.ForeignKey(PlanRevision, on_delete=models.PROTECT, related_name="reviews")
    reviewed_at = models.DateTimeField()
    outcome = models.TextField()
    change_needed = models.BooleanField()
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-reviewed_at"]

    def __str__(self) -> str:
        return f"{self.revision}, {self.reviewed_at:%Y-%m-%d}"

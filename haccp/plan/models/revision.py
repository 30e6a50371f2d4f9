"""Revisions of a premises' plan."""

import uuid
from datetime import datetime
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.ledger.models import Signature
from haccp.premises.models import Premises, User
from haccp.science.working_days import REVIEW_WITHIN_WORKING_DAYS


class RevisionQuerySet(models.QuerySet["PlanRevision"]):
    def for_premises(self, premises: Premises) -> "RevisionQuerySet":
        return self.filter(premises=premises)

    def approved(self) -> "RevisionQuerySet":
        return self.filter(approval__isnull=False)

    def in_force(self, at: datetime) -> "RevisionQuerySet":
        """Newest first: the first row is the revision in force at that moment."""
        return self.approved().filter(effective_from__lte=at).order_by("-effective_from", "-number")


class PlanRevision(models.Model):
    """One revision of a premises' plan. Draft until it carries an approval signature, frozen from then on."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="plan_revisions")
    number = models.PositiveIntegerField()
    scope_statement = models.TextField(blank=True)
    change_summary = models.TextField(blank=True)
    significant_from = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text=_("A hazard is significant from this product of likelihood and severity")
    )
    always_significant_severity = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text=_("A hazard this severe is significant however unlikely")
    )
    review_every_months = models.PositiveSmallIntegerField(default=12)
    records_reviewed_within = models.PositiveSmallIntegerField(
        default=REVIEW_WITHIN_WORKING_DAYS, help_text=_("Working days within which a second person reviews a day")
    )
    drafted_at = models.DateTimeField(default=timezone.now)
    drafted_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    effective_from = models.DateTimeField(null=True, blank=True)
    discarded_at = models.DateTimeField(null=True, blank=True)
    approval = models.OneToOneField(Signature, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    objects = RevisionQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["premises", "number"], name="revision_numbers_are_unique"),
            models.CheckConstraint(
                condition=models.Q(approval__isnull=True) | models.Q(effective_from__isnull=False),
                name="approved_revision_has_a_start",
            ),
            models.CheckConstraint(
                condition=models.Q(approval__isnull=True) | models.Q(discarded_at__isnull=True),
                name="approved_revision_is_not_discarded",
            ),
        ]

    def __str__(self) -> str:
        return f"Revision {self.number}"

    @property
    def is_discarded(self) -> bool:
        return self.discarded_at is not None

    @property
    def is_approved(self) -> bool:
        return self.approval_id is not None

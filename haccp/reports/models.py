"""Visit packs: asked for, made in the background, kept with what they contained."""

import uuid
from datetime import datetime
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.premises.models import Premises, User
from haccp.reports.languages import DEFAULT, LANGUAGES


class PackQuerySet(models.QuerySet["VisitPack"]):
    def for_premises(self, premises: Premises) -> "PackQuerySet":
        return self.filter(premises=premises)

    def unfinished(self) -> "PackQuerySet":
        return self.filter(finished_at__isnull=True, failed_at__isnull=True, cancelled_at__isnull=True)

    def unclaimed(self, now: datetime) -> "PackQuerySet":
        """Nobody makes it, or whoever did has not been heard of since its lease ran out."""
        return self.unfinished().filter(Q(claimed_until__isnull=True) | Q(claimed_until__lte=now))


class VisitPack(models.Model):
    """period_from and period_to are local days, inclusive. claimed_until is the lease of the worker that makes it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="packs")
    period_from = models.DateField()
    period_to = models.DateField()
    choice = models.JSONField(default=dict, blank=True, help_text=_("which part it shows; empty for the whole dairy"))
    language = models.CharField(
        max_length=8, choices=LANGUAGES, default=DEFAULT, help_text=_("of the paper's own words")
    )
    choice_words = models.CharField(max_length=240, blank=True)
    site = models.CharField(max_length=200, blank=True, help_text=_("the address that its QR codes lead to"))
    requested_at = models.DateTimeField(default=timezone.now)
    requested_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    claimed_until = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    stage = models.CharField(max_length=80, blank=True, help_text=_("What is being made now, for the progress bar"))
    done_parts = models.PositiveIntegerField(default=0)
    total_parts = models.PositiveIntegerField(default=0)
    finished_at = models.DateTimeField(null=True, blank=True)
    failed_at = models.DateTimeField(null=True, blank=True)
    failure = models.TextField(blank=True)
    cancelled_at = models.DateTimeField(null=True, blank=True)
    file = models.FileField(upload_to="packs/%Y/%m/", blank=True)
    sha256 = models.CharField(max_length=64, blank=True)
    size_bytes = models.PositiveBigIntegerField(default=0)
    page_count = models.PositiveIntegerField(default=0)
    contents = models.JSONField(default=dict, help_text=_("section -> number of records it shows"))

    objects = PackQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-requested_at"]
        indexes: ClassVar = [models.Index(fields=["premises", "-requested_at"], name="packs_of_a_dairy")]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(period_from__lte=models.F("period_to")), name="a_period_runs_forward"
            ),
            models.CheckConstraint(
                # At least two of the three ends are absent.
                condition=Q(finished_at__isnull=True, failed_at__isnull=True)
                | Q(finished_at__isnull=True, cancelled_at__isnull=True)
                | Q(failed_at__isnull=True, cancelled_at__isnull=True),
                name="a_pack_ends_one_way",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.choice_words} {self.period_from} – {self.period_to}".strip()

    @property
    def is_finished(self) -> bool:
        return self.finished_at is not None

    @property
    def has_failed(self) -> bool:
        return self.failed_at is not None

    @property
    def is_cancelled(self) -> bool:
        return self.cancelled_at is not None

    @property
    def is_being_made(self) -> bool:
        """Asked for and not yet ended in any way."""
        return not (self.is_finished or self.has_failed or self.is_cancelled)

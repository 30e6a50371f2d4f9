"""Exports of a premises that its owner asked for, made in the background."""

import uuid
from datetime import datetime
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from haccp.premises.models import Premises, User


class ExportQuerySet(models.QuerySet["PremisesExport"]):
    def unfinished(self) -> "ExportQuerySet":
        return self.filter(finished_at__isnull=True, failed_at__isnull=True)

    def unclaimed(self, now: datetime) -> "ExportQuerySet":
        return self.unfinished().filter(Q(claimed_until__isnull=True) | Q(claimed_until__lte=now))


class PremisesExport(models.Model):
    """claimed_until is the lease of the worker that makes it. The file is kept until the next one is finished."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="+")
    requested_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    requested_at = models.DateTimeField(default=timezone.now)
    claimed_until = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    stage = models.CharField(max_length=80, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    failed_at = models.DateTimeField(null=True, blank=True)
    failure = models.TextField(blank=True)
    file = models.FileField(upload_to="exports/", blank=True)
    sha256 = models.CharField(max_length=64, blank=True)
    size_bytes = models.PositiveBigIntegerField(default=0)
    row_count = models.PositiveIntegerField(default=0)

    objects = ExportQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-requested_at"]
        indexes: ClassVar = [models.Index(fields=["premises", "-requested_at"], name="exports_of_a_dairy")]

    def __str__(self) -> str:
        return f"{self.premises}, {self.requested_at:%Y-%m-%d}"

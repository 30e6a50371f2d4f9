"""A recorder's file, kept byte for byte, with the samples read out of it."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone

from haccp.lots.models import Lot
from haccp.premises.models import Premises, User


class TraceFile(models.Model):
    """raw_deflated: the file as uploaded (zlib). samples: numpy .npz of t_s and the channels (checks.trace_store)."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="+")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="traces")
    filename = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64)
    raw_deflated = models.BinaryField()
    samples = models.BinaryField()
    started_at = models.DateTimeField()
    duration_s = models.FloatField()
    sample_count = models.PositiveIntegerField()
    roles = models.JSONField(help_text="channel -> product | air_space | other, as the file suggests")
    header = models.JSONField(default=dict)
    notes = models.JSONField(default=list)
    uploaded_at = models.DateTimeField(default=timezone.now)
    uploaded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-uploaded_at"]

    def __str__(self) -> str:
        return self.filename

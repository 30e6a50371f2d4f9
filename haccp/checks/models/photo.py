"""A photograph taken at a check."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone

from haccp.premises.models import Premises, User


class PhotoFile(models.Model):
    """kept: JPEG, upright, at most some 2000 pixels wide or high, without what the camera wrote into it.

    sent_sha256: of the file as it was sent; kept_sha256: of what is kept, which is sealed.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="+")
    kept = models.BinaryField()
    sent_sha256 = models.CharField(max_length=64)
    kept_sha256 = models.CharField(max_length=64)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    sent_at = models.DateTimeField(default=timezone.now)
    sent_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-sent_at"]

    def __str__(self) -> str:
        return f"photograph {self.kept_sha256[:12]}"

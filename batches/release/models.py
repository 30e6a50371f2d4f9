"""A batch released for sale: signed, with exactly what the gate showed."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Exists, OuterRef

from haccp.ledger.models import Signature
from haccp.lots.models import Hold, Lot
from haccp.premises.models import Premises, User


class ReleaseQuerySet(models.QuerySet["Release"]):
    def for_premises(self, premises: Premises) -> "ReleaseQuerySet":
        return self.filter(lot__premises=premises)

    def standing(self) -> "ReleaseQuerySet":
        """A hold placed after a release ends it for good: the batch must pass the gate again."""
        later = Hold.objects.filter(lot=OuterRef("lot"), placed_at__gte=OuterRef("released_at"))
        return self.exclude(Exists(later))


class Release(models.Model):
    """The id is made with the form, so that a double tap is one release. signature.content: what the gate showed."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="releases")
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="+")
    released_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    released_at = models.DateTimeField()
    content_sha256 = models.CharField(max_length=64)

    objects = ReleaseQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["released_at"]
        indexes: ClassVar = [models.Index(fields=["lot", "released_at"])]

    def __str__(self) -> str:
        return f"{self.lot} released"

"""A brine: made up once, refreshed, used by many batches, discarded. It is a lot, so that the trace goes through it."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from batches.making.models.make import Make
from haccp.lots.models import Lot, LotLink
from haccp.premises.models import Place, User


class Brine(models.Model):
    """water: where the water came from. What was done to it, the making up too, is its changes."""

    lot = models.OneToOneField(Lot, on_delete=models.PROTECT, primary_key=True, related_name="brine")
    tank = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="brines")
    water = models.CharField(max_length=120)

    def __str__(self) -> str:
        return f"{self.lot.code}, {self.tank.name}"


class BrineChange(models.Model):
    """water_l: what was poured in, 0 for none. salt: the link from the salt lot, None for none. Sealed."""

    class What(models.TextChoices):
        MADE_UP = "made_up", _("made up")
        REFRESHED = "refreshed", _("refreshed")
        DISCARDED = "discarded", _("discarded")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    brine = models.ForeignKey(Brine, on_delete=models.PROTECT, related_name="changes")
    what = models.CharField(max_length=10, choices=What.choices)
    water_l = models.FloatField(default=0.0)
    typed_water = models.CharField(max_length=40, blank=True)
    water_unit = models.CharField(max_length=8, blank=True)
    salt = models.OneToOneField(LotLink, on_delete=models.PROTECT, null=True, blank=True, related_name="brine_change")
    typed_salt = models.CharField(max_length=40, blank=True)
    salt_unit = models.CharField(max_length=8, blank=True)
    note = models.TextField(blank=True)
    at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["at", "recorded_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["brine"], condition=models.Q(what="discarded"), name="a_brine_is_discarded_once"
            ),
            models.UniqueConstraint(
                fields=["brine"], condition=models.Q(what="made_up"), name="a_brine_is_made_up_once"
            ),
            models.CheckConstraint(
                condition=~models.Q(what="discarded") | ~models.Q(note=""), name="a_discarded_brine_says_why"
            ),
        ]

    def __str__(self) -> str:
        return self.get_what_display()


class BrineUse(models.Model):
    """The detail behind a link from a brine to a batch: when it was laid in."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    brine = models.ForeignKey(Brine, on_delete=models.PROTECT, related_name="uses")
    make = models.ForeignKey(Make, on_delete=models.PROTECT, related_name="brinings")
    link = models.OneToOneField(LotLink, on_delete=models.PROTECT, related_name="brine_use")
    laid_in_at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["laid_in_at", "recorded_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["brine", "make"],
                name="a_batch_is_laid_in_a_brine_once",
                violation_error_message=_("This batch already lies in this brine."),
            )
        ]

    def __str__(self) -> str:
        return f"{self.make} in {self.brine}"

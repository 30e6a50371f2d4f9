"""Deviations: what went wrong, which lots it may have touched, and what was done about it.

Every row is sealed. A step is corrected by a further step of the same kind; the last one of a kind counts, all are
shown. A deviation is open until it has a Closure.
"""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.checks.models import MissedCheck, RulingRow
from haccp.ledger.models import Signature
from haccp.lots.models import Lot
from haccp.plan.models import ControlPoint
from haccp.premises.models import Premises, User


class DeviationQuerySet(models.QuerySet["Deviation"]):
    def for_premises(self, premises: Premises) -> "DeviationQuerySet":
        return self.filter(premises=premises)

    def open(self) -> "DeviationQuerySet":
        return self.filter(closure__isnull=True)

    def closed(self) -> "DeviationQuerySet":
        return self.filter(closure__isnull=False)


class Deviation(models.Model):
    class Cause(models.TextChoices):
        RULING = "ruling", _("a reading outside its limit, or not proven")
        MISSED = "missed", _("a check that nobody did")
        BY_HAND = "by_hand", _("reported by a person")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="deviations")
    year = models.PositiveSmallIntegerField()
    number = models.PositiveIntegerField()
    cause = models.CharField(max_length=10, choices=Cause.choices)
    ruling = models.OneToOneField(RulingRow, on_delete=models.PROTECT, null=True, blank=True, related_name="deviation")
    missed = models.OneToOneField(
        MissedCheck, on_delete=models.PROTECT, null=True, blank=True, related_name="deviation"
    )
    control_point = models.ForeignKey(ControlPoint, on_delete=models.PROTECT, related_name="deviations")
    summary = models.TextField()
    occurred_at = models.DateTimeField()
    opened_at = models.DateTimeField(default=timezone.now)
    opened_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    exposed_from = models.DateTimeField(null=True, blank=True, help_text=_("the last check that was met before it"))

    objects = DeviationQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-opened_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["premises", "year", "number"], name="deviation_numbers_are_unique"),
            models.CheckConstraint(
                # One cause set and all others null, spelled out: XOR would count parity.
                condition=Q(cause="ruling", ruling__isnull=False, missed__isnull=True)
                | Q(cause="missed", ruling__isnull=True, missed__isnull=False)
                | Q(cause="by_hand", ruling__isnull=True, missed__isnull=True),
                name="a_deviation_has_one_cause",
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["premises", "-opened_at"])]

    def __str__(self) -> str:
        return self.reference

    @property
    def reference(self) -> str:
        return f"D{self.year}-{self.number:03d}"

    @property
    def hold_cause(self) -> str:
        """What lots.Hold.cause says of a hold placed by this deviation."""
        return f"deviation:{self.id}"


class ImplicatedLot(models.Model):
    """A lot that the breach may have touched, and by which path."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    deviation = models.ForeignKey(Deviation, on_delete=models.PROTECT, related_name="implicated")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="implicated_by")
    why = models.TextField()

    class Meta:
        ordering: ClassVar = ["lot__code"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["deviation", "lot"], name="a_lot_is_implicated_once")]

    def __str__(self) -> str:
        return str(self.lot)


class CorrectiveStep(models.Model):
    """cause, correction, disposition (one per lot), prevention: the elements of a corrective action."""

    class Kind(models.TextChoices):
        CAUSE = "cause", _("cause")
        CORRECTION = "correction", _("correction: control regained")
        DISPOSITION = "disposition", _("disposition of the product")
        PREVENTION = "prevention", _("prevention of a recurrence")

    class Disposition(models.TextChoices):
        RELEASE = "release", _("release, with justification")
        REWORK = "rework", _("rework under control")
        HEAT_TREATMENT = "heat_treatment", _("divert to heat treatment")
        ANIMAL_FEED = "animal_feed", _("animal feed, where the authority allows it")
        DESTROY = "destroy", _("destroy")
        KEEP_ON_HOLD = "keep_on_hold", _("keep on hold until tested")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    deviation = models.ForeignKey(Deviation, on_delete=models.PROTECT, related_name="steps")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    text = models.TextField()
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="dispositions")
    disposition = models.CharField(max_length=16, choices=Disposition.choices, blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["recorded_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(kind="disposition", lot__isnull=False) & ~Q(disposition="")
                | ~Q(kind="disposition") & Q(lot__isnull=True, disposition=""),
                name="a_disposition_names_its_lot",
            )
        ]

    def __str__(self) -> str:
        return self.text


class Closure(models.Model):
    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    deviation = models.OneToOneField(Deviation, on_delete=models.PROTECT, related_name="closure")
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="+")
    closed_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        return f"closed {self.closed_at:%Y-%m-%d}"

"""Calibrations of instruments, and the records that one of them put in doubt.

Every row is sealed. A record is never changed: a doubt is a further row that names it, with what each of its limits
says now. It stands until the deviation that it belongs to is closed, which is where a person disposes of the product.
"""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.checks.models import Record
from haccp.deviations.models import Deviation
from haccp.lots.models import Lot
from haccp.plan.models import CriticalLimit
from haccp.premises.models import Instrument, Place, Premises, User
from haccp.science.ruling import Ruling

RULINGS = [(r.value, r.value) for r in Ruling]


class Calibration(models.Model):
    """One calibration, as found and as left.

    points: what was compared, each {label, true, found, left, expanded_uncertainty} in the SI unit of quantity; for
    buffers {ph, mv_found, mv_left}. typed: what was typed, field -> text. tolerance: the largest error allowed, SI;
    null for buffers. found_*, left_*: the verdicts of haccp.science.calibration. valid_until: the last day on which
    the instrument counts; null when it was left out of order.
    """

    class Method(models.TextChoices):
        ICE_POINT = "ice_point", _("ice point")
        BOILING_POINT = "boiling_point", _("boiling point")
        REFERENCE = "reference", _("against a reference")
        BUFFERS = "buffers", _("two buffers")
        CERTIFICATE = "certificate", _("certificate of a laboratory")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="calibrations")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="calibrations")
    method = models.CharField(max_length=14, choices=Method.choices)
    quantity = models.CharField(max_length=40)
    performed_at = models.DateTimeField()
    points = models.JSONField()
    typed = models.JSONField(default=dict)
    tolerance = models.FloatField(null=True, blank=True)
    expanded_uncertainty = models.FloatField(help_text=_("U (k = 2) of the instrument from now on, SI"))
    found_ruling = models.CharField(max_length=10, choices=RULINGS)
    found_reason = models.TextField()
    found_facts = models.JSONField(default=dict)
    left_ruling = models.CharField(max_length=10, choices=RULINGS)
    left_reason = models.TextField()
    left_facts = models.JSONField(default=dict)
    valid_until = models.DateField(null=True, blank=True)
    reference = models.CharField(max_length=160, blank=True, help_text=_("Reference instrument or certificate"))
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-performed_at", "-recorded_at"]
        indexes: ClassVar = [models.Index(fields=["instrument", "-performed_at"])]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(expanded_uncertainty__gte=0), name="calibration_uncertainty_not_negative"
            )
        ]

    def __str__(self) -> str:
        return f"{self.instrument} {self.performed_at:%Y-%m-%d}"

    @property
    def found_good(self) -> bool:
        return Ruling(self.found_ruling).is_satisfied

    @property
    def left_good(self) -> bool:
        return Ruling(self.left_ruling).is_satisfied


class Doubt(models.Model):
    """A record read with an instrument that was later found out. deviation: where it is disposed of."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    calibration = models.ForeignKey(Calibration, on_delete=models.PROTECT, related_name="doubts")
    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="doubts")
    deviation = models.ForeignKey(Deviation, on_delete=models.PROTECT, related_name="doubts")
    reason = models.TextField()

    class Meta:
        ordering: ClassVar = ["record__observed_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["calibration", "record"], name="a_calibration_doubts_a_record_once")
        ]
        indexes: ClassVar = [models.Index(fields=["record"])]

    def __str__(self) -> str:
        return self.reason


class LaterRuling(models.Model):
    """What a limit says of a doubted record now, and what it would say of the value corrected by the error found.

    corrected_*: a help for whoever decides, never a ruling by itself; "" where nothing can be corrected.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    doubt = models.ForeignKey(Doubt, on_delete=models.PROTECT, related_name="rulings")
    limit = models.ForeignKey(CriticalLimit, on_delete=models.PROTECT, related_name="+")
    ruling = models.CharField(max_length=10, choices=RULINGS)
    reason = models.TextField()
    corrected_ruling = models.CharField(max_length=10, choices=RULINGS, blank=True)
    corrected_reason = models.TextField(blank=True)
    judged_by = models.CharField(max_length=60)

    class Meta:
        ordering: ClassVar = ["limit__statement"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["doubt", "limit"], name="one_later_ruling_per_limit_of_a_doubt")
        ]

    def __str__(self) -> str:
        return self.ruling


class DoubtedReading(models.Model):
    """What was read besides the checks of the plan with an instrument that was later found out.

    source: the kind of reading (haccp.calibration.resting); about: the row that holds it; words: what was read, as the
    list shows it. deviation: where it is disposed of; null where no plan was ever in force that could say at which
    control point.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    calibration = models.ForeignKey(Calibration, on_delete=models.PROTECT, related_name="doubted_readings")
    source = models.CharField(max_length=40)
    about = models.UUIDField()
    words = models.TextField()
    read_at = models.DateTimeField()
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="doubted_readings")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    deviation = models.ForeignKey(
        Deviation, on_delete=models.PROTECT, null=True, blank=True, related_name="doubted_readings"
    )
    reason = models.TextField()

    class Meta:
        ordering: ClassVar = ["read_at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["calibration", "source", "about"], name="a_calibration_doubts_a_reading_once"
            )
        ]
        indexes: ClassVar = [models.Index(fields=["about"])]

    def __str__(self) -> str:
        return self.words

"""What stands beside a recorder's file of a heat treatment: how the milk was treated, what the other thermometer
showed, when the flow was diverted, and the enzyme afterwards."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from batches.making.models.make import Make
from haccp.checks.models import Record
from haccp.premises.models import Instrument, User


class HeatSheet(models.Model):
    """Sealed; the last one of a record counts. cut_in_c, cut_out_c: of the diversion valve, tested in this run.
    holding_tube_s: of the fastest particle, by the last test of the tube. typed: field -> text, with the unit of the
    temperatures. *_unfit: why that thermometer could not be relied on then, "" where it could or none was named."""

    class Process(models.TextChoices):
        BATCH = "batch", _("in a vat")
        CONTINUOUS = "continuous", _("continuous, in a holding tube")
        THERMISATION = "thermisation", _("thermised")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="heat_sheets")
    process = models.CharField(max_length=12, choices=Process.choices)
    fat_percent = models.FloatField()
    sweetened = models.BooleanField(default=False)
    cut_in_c = models.FloatField(null=True, blank=True)
    cut_out_c = models.FloatField(null=True, blank=True)
    holding_tube_s = models.FloatField(null=True, blank=True)
    typed = models.JSONField(default=dict)
    thermometer = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    thermometer_unfit = models.TextField(blank=True)
    air_thermometer = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    air_thermometer_unfit = models.TextField(blank=True)
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["recorded_at"]

    def __str__(self) -> str:
        return str(self.get_process_display())


class ThermometerReading(models.Model):
    """What the indicating thermometer (and that of the air space) showed at a moment, °C. typed: field -> text."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    sheet = models.ForeignKey(HeatSheet, on_delete=models.PROTECT, related_name="thermometers")
    at = models.DateTimeField()
    indicating_c = models.FloatField(null=True, blank=True)
    air_space_c = models.FloatField(null=True, blank=True)
    typed = models.JSONField(default=dict)

    class Meta:
        ordering: ClassVar = ["at"]

    def __str__(self) -> str:
        return f"{self.indicating_c} °C"


class FlowDiversion(models.Model):
    """Milk went back instead of forward."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    sheet = models.ForeignKey(HeatSheet, on_delete=models.PROTECT, related_name="diversions")
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["began_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(ended_at__gt=models.F("began_at")), name="a_diversion_ends_after_it_began"
            )
        ]

    def __str__(self) -> str:
        return f"{self.began_at:%H:%M}"


class PhosphataseResult(models.Model):
    """Alkaline phosphatase of the milk at once after treatment, in mU/L."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    make = models.ForeignKey(Make, on_delete=models.PROTECT, related_name="phosphatase")
    activity_mu_per_l = models.FloatField()
    typed_text = models.CharField(max_length=40)
    sampled_at = models.DateTimeField()
    laboratory = models.CharField(max_length=120, blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["sampled_at"]

    def __str__(self) -> str:
        return f"{self.typed_text} mU/L"

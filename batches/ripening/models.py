"""What is done to cheeses in a room, what they weigh, and what the room's loggers and hygrometers showed.

Every row but CareRhythm is sealed. CareRhythm says how often a cheese is looked after; a change of it is sealed as an
entry of its own.
"""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.checks.models import TraceFile
from haccp.lots.models import Lot
from haccp.plan.models import Product
from haccp.premises.models import Instrument, Place, Premises, User


class CareKind(models.TextChoices):
    TURNED = "turned", _("turned")
    WASHED = "washed", _("washed")
    BRUSHED = "brushed", _("brushed")
    PIERCED = "pierced", _("pierced")
    RUBBED = "rubbed", _("rubbed with oil or salt")
    WRAPPED = "wrapped", _("wrapped")


class Care(models.Model):
    """Something done to one or more batches; place where it was done for all in a room."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=12, choices=CareKind.choices)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    done_at = models.DateTimeField()
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-done_at"]
        indexes: ClassVar = [models.Index(fields=["premises", "-done_at"])]

    def __str__(self) -> str:
        return self.get_kind_display()


class CareLot(models.Model):
    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    care = models.ForeignKey(Care, on_delete=models.PROTECT, related_name="lots")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="care")

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["care", "lot"], name="care_is_given_to_a_lot_once")]

    def __str__(self) -> str:
        return str(self.lot)


class CareRhythm(models.Model):
    """Every how many days a cheese needs this care while it is in a room."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="care_rhythms")
    kind = models.CharField(max_length=12, choices=CareKind.choices)
    every_days = models.PositiveSmallIntegerField()

    class Meta:
        ordering: ClassVar = ["product__name", "kind"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["product", "kind"], name="one_rhythm_per_cheese_and_care"),
            models.CheckConstraint(condition=Q(every_days__gte=1), name="care_is_given_daily_at_most"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} / {self.every_days} d"


class Weighing(models.Model):
    """pieces: how many wheels lay on the scale; mass_kg of all of them, typed_* as it was written. instrument_unfit:
    why the scale could not be relied on that day, "" where it could or none was named."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="weighings")
    pieces = models.PositiveSmallIntegerField(default=1)
    mass_kg = models.FloatField()
    typed_mass = models.CharField(max_length=40)
    typed_unit = models.CharField(max_length=8)
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    instrument_unfit = models.TextField(blank=True)
    weighed_at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["weighed_at"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(mass_kg__gt=0, pieces__gte=1), name="a_weighing_weighs_something")
        ]

    def __str__(self) -> str:
        return f"{self.mass_kg} kg"


class RoomReading(models.Model):
    """The air of a room as it was read by a person; typed: field -> text, with the wet bulb where one was read."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="room_readings")
    read_at = models.DateTimeField()
    temperature_c = models.FloatField(null=True, blank=True)
    relative_humidity = models.FloatField(null=True, blank=True, help_text="%")
    typed = models.JSONField(default=dict)
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    # As it stood that day: a later calibration must not change what an old reading is worth
    expanded_uncertainty = models.FloatField(default=0.0)
    instrument_unfit = models.TextField(blank=True)
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["read_at"]
        indexes: ClassVar = [models.Index(fields=["place", "-read_at"])]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(temperature_c__isnull=False) | Q(relative_humidity__isnull=False),
                name="a_room_reading_says_something",
            )
        ]

    def __str__(self) -> str:
        return f"{self.place} {self.read_at:%Y-%m-%d %H:%M}"


class RoomLog(models.Model):
    """One channel of a logger's file, said by a person to be of a room.

    overview: what haccp.drawing.thin keeps of each hour (first, last, lowest, highest), packed as a trace is; it is
    derived, draws years fast, and is not sealed. starts_at, ends_at: of the samples.
    """

    class Quantity(models.TextChoices):
        TEMPERATURE = "temperature", _("temperature")
        HUMIDITY = "relative_humidity", _("relative humidity")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="room_logs")
    trace = models.ForeignKey(TraceFile, on_delete=models.PROTECT, related_name="room_logs")
    channel = models.CharField(max_length=200)
    label = models.CharField(max_length=80)
    quantity = models.CharField(max_length=20, choices=Quantity.choices)
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    expanded_uncertainty = models.FloatField(default=0.0)
    instrument_unfit = models.TextField(blank=True)
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    overview = models.BinaryField()
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["starts_at"]
        indexes: ClassVar = [models.Index(fields=["place", "ends_at"])]
        constraints: ClassVar = [models.UniqueConstraint(fields=["trace", "channel"], name="a_channel_is_of_one_room")]

    def __str__(self) -> str:
        return self.label

"""Who works where: producers, premises, places, instruments, people and their roles."""

import uuid
import zoneinfo
from datetime import date, datetime
from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.ledger.models import Log


class UserManager(BaseUserManager["User"]):
    def create_user(
        self, *, email: str, name: str, password: str | None = None, joined_at: datetime | None = None
    ) -> "User":
        user = self.model(email=self.normalize_email(email).lower(), name=name, joined_at=joined_at or timezone.now())
        user.set_password(password)
        user.save(using=self._db)
        return user

    def get_by_natural_key(self, username: str | None) -> "User":
        return self.get(email=(username or "").strip().lower())


class User(AbstractBaseUser):
    """A person who signs in. Signs in by e-mail; the name is what is printed beside signatures."""

    class TemperatureUnit(models.TextChoices):
        CELSIUS = "°C", _("Celsius (°C)")
        FAHRENHEIT = "°F", _("Fahrenheit (°F)")

    class VolumeUnit(models.TextChoices):
        LITRE = "L", _("litres")
        GALLON = "gal", _("US gallons")

    class MassUnit(models.TextChoices):
        KILOGRAM = "kg", _("kilograms")
        POUND = "lb", _("pounds")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    email = models.EmailField(_("e-mail"), unique=True)
    name = models.CharField(_("name"), max_length=120)
    is_active = models.BooleanField(default=True)
    joined_at = models.DateTimeField(default=timezone.now)
    temperature_unit = models.CharField(max_length=4, choices=TemperatureUnit.choices, default=TemperatureUnit.CELSIUS)
    volume_unit = models.CharField(max_length=4, choices=VolumeUnit.choices, default=VolumeUnit.LITRE)
    mass_unit = models.CharField(max_length=4, choices=MassUnit.choices, default=MassUnit.KILOGRAM)

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    objects = UserManager()

    def __str__(self) -> str:
        return self.name

    def preferred_unit(self, quantity: str) -> str:
        """The unit of science.units that this person reads a quantity in; "" where there is no preference."""
        volume = "gal (US)" if self.volume_unit == self.VolumeUnit.GALLON else self.volume_unit
        return {"temperature": self.temperature_unit, "volume": volume, "mass": self.mass_unit}.get(quantity, "")


class Producer(models.Model):
    """The business that holds one or more premises."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=160)

    def __str__(self) -> str:
        return self.name


class Premises(models.Model):
    """One dairy: the unit that a plan, records and a ledger belong to."""

    class Jurisdiction(models.TextChoices):
        EU = "EU", _("European Union")
        UK = "UK", _("United Kingdom")
        US = "US", _("United States")
        AU = "AU", _("Australia and New Zealand")
        CA = "CA", _("Canada")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    producer = models.ForeignKey(Producer, on_delete=models.PROTECT, related_name="premises")
    name = models.CharField(max_length=160)
    address = models.TextField(blank=True)
    approval_number = models.CharField(max_length=40, blank=True)
    time_zone = models.CharField(max_length=64, default="UTC")
    jurisdiction = models.CharField(max_length=4, choices=Jurisdiction.choices)
    log = models.OneToOneField(Log, on_delete=models.PROTECT, related_name="+")

    class Meta:
        verbose_name_plural = "premises"

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        return zoneinfo.ZoneInfo(self.time_zone)

    def local_date(self, moment: datetime) -> date:
        """The calendar day of a UTC moment at this dairy."""
        return moment.astimezone(self.zone).date()


class Membership(models.Model):
    """A person's role at one premises, for as long as it lasted. Another role is another row, and a leaver's rows
    stay: the database refuses all but setting left_at once, so that who might do what, when, can always be told.
    """

    class Role(models.TextChoices):
        OWNER = "owner", _("owner")
        MAKER = "maker", _("cheesemaker")
        HELPER = "helper", _("helper")
        REVIEWER = "reviewer", _("reviewer")
        CONSULTANT = "consultant", _("consultant")
        INSPECTOR = "inspector", _("inspector")  # by a visitor link, until it expires

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="memberships")
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=12, choices=Role.choices)
    since = models.DateTimeField(default=timezone.now)
    until = models.DateTimeField(null=True, blank=True, help_text=_("set for visitors: ends by itself"))
    given_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    left_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["user", "premises"],
                condition=models.Q(left_at__isnull=True),
                name="one_current_role_per_person",
                violation_error_message=_("This person already has a role here; change that one."),
            )
        ]

    def __str__(self) -> str:
        return f"{self.user} · {self.get_role_display()}"


class Place(models.Model):
    """A room, vat, area or piece of equipment. walking_order is the order in which a round passes through."""

    class Kind(models.TextChoices):
        MILK_STORE = "milk_store", _("milk store")
        VAT = "vat", _("vat")
        MAKE_ROOM = "make_room", _("make room")
        RIPENING_ROOM = "ripening_room", _("ripening room")
        COLD_STORE = "cold_store", _("cold store")
        EQUIPMENT = "equipment", _("piece of equipment")
        OTHER = "other", _("other place")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="places")
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=16, choices=Kind.choices)
    walking_order = models.PositiveSmallIntegerField(default=0)
    added_at = models.DateTimeField(null=True, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["walking_order", "name"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["premises", "name"],
                name="place_names_are_unique",
                violation_error_message=_("There is already a place of this name here."),
            )
        ]

    def __str__(self) -> str:
        return self.name


class Instrument(models.Model):
    """A thermometer, pH meter, recorder ... with what its calibration certificate states."""

    class Kind(models.TextChoices):
        THERMOMETER = "thermometer", _("thermometer")
        RECORDER = "recorder", _("temperature recorder")
        PH_METER = "ph_meter", _("pH meter")
        HYGROMETER = "hygrometer", _("hygrometer")
        SCALE = "scale", _("scale")
        TEST_KIT = "test_kit", _("test kit")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="instruments")
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=16, choices=Kind.choices)
    serial = models.CharField(max_length=60, blank=True)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="instruments")
    expanded_uncertainty = models.FloatField(
        default=0.0, help_text=_("U (k = 2, about 95 %) in the unit of what it measures: °C, pH, % RH")
    )
    uncertainty_typed = models.CharField(max_length=40, blank=True, help_text=_("As it was typed, with its unit"))
    calibrated_on = models.DateField(null=True, blank=True)
    calibration_valid_until = models.DateField(null=True, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["premises", "name"],
                name="instrument_names_are_unique",
                violation_error_message=_("There is already an instrument of this name here."),
            ),
            models.CheckConstraint(
                condition=models.Q(expanded_uncertainty__gte=0), name="instrument_uncertainty_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def reads(self, quantity: str) -> bool:
        """Whether its kind reads this quantity (key of science.units); a kit may read anything."""
        read = _READ_BY.get(Instrument.Kind(self.kind))
        return read is None or quantity in read

    def unfit_on(self, day: date) -> str | None:
        """Why a reading of that day cannot be relied on, or None."""
        if self.retired_at is not None and self.retired_at.date() < day:
            return f"{self.name} was retired on {self.retired_at.date().isoformat()}"
        if self.calibration_valid_until is None:
            return f"{self.name} has no calibration on file"
        if day > self.calibration_valid_until:
            return f"the calibration of {self.name} ran out on {self.calibration_valid_until.isoformat()}"
        return None


_READ_BY: dict[Instrument.Kind, frozenset[str]] = {
    Instrument.Kind.THERMOMETER: frozenset({"temperature"}),
    Instrument.Kind.RECORDER: frozenset({"temperature"}),
    Instrument.Kind.PH_METER: frozenset({"ph"}),
    Instrument.Kind.HYGROMETER: frozenset({"relative_humidity", "temperature"}),
    Instrument.Kind.SCALE: frozenset({"mass"}),
}


class DeviceToken(models.Model):
    """A device that speaks to the API as one person at one premises. Only the token's hash is kept."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    membership = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="devices")
    name = models.CharField(max_length=80)
    token_sha256 = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField(default=timezone.now)
    last_used_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return self.name


class AnsweredRequest(models.Model):
    """The answer once given to an Idempotency-Key, given again when the same request comes again."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    membership = models.ForeignKey(Membership, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=120)
    request_sha256 = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField()
    body = models.JSONField()
    answered_at = models.DateTimeField(default=timezone.now, db_index=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["membership", "key"], name="one_answer_per_idempotency_key")
        ]

    def __str__(self) -> str:
        return self.key

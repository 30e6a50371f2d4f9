"""How places and equipment are cleaned, with what, and what swabs of them have found.

How strong, how warm and how long is no column here: those are limits of the plan's check that a method belongs to,
judged like any other. Every row is sealed: a method or rota is changed by a further row that takes its place.
"""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from batches.laboratory.models import SampleTest
from haccp.checks.models import Record
from haccp.deviations.models import Deviation
from haccp.premises.models import Place, Premises, User


class Chemical(models.Model):
    class Purpose(models.TextChoices):
        ALKALINE = "alkaline", _("alkaline detergent")
        ACID = "acid", _("acid descaler")
        NEUTRAL = "neutral", _("neutral detergent")
        SANITISER = "sanitiser", _("sanitiser")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=80)
    active = models.CharField(max_length=80, blank=True, help_text=_("Active substance, such as sodium hypochlorite"))
    purpose = models.CharField(max_length=10, choices=Purpose.choices)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["premises", "name"], name="chemical_names_are_unique"),
        ]

    def __str__(self) -> str:
        return self.name


class ChemicalLot(models.Model):
    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    chemical = models.ForeignKey(Chemical, on_delete=models.PROTECT, related_name="lots")
    code = models.CharField(max_length=40)
    expires_on = models.DateField(null=True, blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["chemical__name", "-recorded_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["chemical", "code"], name="chemical_lot_codes_are_unique"),
        ]

    def __str__(self) -> str:
        return f"{self.chemical.name}, lot {self.code}"


class Method(models.Model):
    """How one place or piece of equipment is cleaned. check_key: key of the plan's check that is entered with it.

    before_use: it must be clean before it is used. keeps_clean_s: how long an unused place stays clean, None for
    until its next use.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="cleaning_methods")
    name = models.CharField(max_length=120)
    check_key = models.UUIDField()
    chemicals = models.ManyToManyField(Chemical, through="MethodChemical", related_name="+")
    before_use = models.BooleanField(default=True)
    keeps_clean_s = models.PositiveIntegerField(null=True, blank=True)
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by")
    ends_cleaning_by = models.BooleanField(default=False, help_text=_("Cleaning by this method is no longer asked for"))
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["place__walking_order", "place__name", "name"]

    def __str__(self) -> str:
        return self.name


class MethodStep(models.Model):
    class Kind(models.TextChoices):
        RINSE = "rinse", _("rinse")
        WASH = "wash", _("wash")
        SANITISE = "sanitise", _("sanitise")
        DRAIN = "drain", _("drain and dry")
        LOOK = "look", _("verify")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    method = models.ForeignKey(Method, on_delete=models.PROTECT, related_name="steps")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=10, choices=Kind.choices)
    text = models.CharField(max_length=400)

    class Meta:
        ordering: ClassVar = ["position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["method", "position"], name="method_steps_have_an_order"),
        ]

    def __str__(self) -> str:
        return self.text


class MethodChemical(models.Model):
    method = models.ForeignKey(Method, on_delete=models.PROTECT, related_name="+")
    chemical = models.ForeignKey(Chemical, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["method", "chemical"], name="a_chemical_once_a_method")
        ]

    def __str__(self) -> str:
        return f"{self.method}: {self.chemical}"


class Cleaning(models.Model):
    """A cleaning that was done: the record of its check, and what the record does not hold."""

    record = models.OneToOneField(Record, on_delete=models.PROTECT, primary_key=True, related_name="cleaning")
    method = models.ForeignKey(Method, on_delete=models.PROTECT, related_name="cleanings")
    lots = models.ManyToManyField(ChemicalLot, through="CleaningLot", related_name="+")

    def __str__(self) -> str:
        return str(self.record)


class CleaningLot(models.Model):
    cleaning = models.ForeignKey(Cleaning, on_delete=models.PROTECT, related_name="+")
    lot = models.ForeignKey(ChemicalLot, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["cleaning", "lot"], name="a_lot_once_a_cleaning")]

    def __str__(self) -> str:
        return f"{self.cleaning}: {self.lot}"


class UncleanUse(models.Model):
    """Equipment that was used though it was not clean: always with the deviation that this opened."""

    deviation = models.OneToOneField(Deviation, on_delete=models.PROTECT, primary_key=True, related_name="unclean_use")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")
    why_unclean = models.TextField()

    def __str__(self) -> str:
        return self.why_unclean


class SwabPoint(models.Model):
    """Where swabs are taken. Zones as the trade counts them: 1 touches the cheese, 4 is outside the rooms."""

    class Zone(models.IntegerChoices):
        CONTACT = 1, _("1: touches the cheese")
        NEAR = 2, _("2: near the cheese")
        ROOM = 3, _("3: in the room")
        OUTSIDE = 4, _("4: outside the rooms")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="swab_points")
    name = models.CharField(max_length=80)
    zone = models.PositiveSmallIntegerField(choices=Zone.choices)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["zone", "place__walking_order", "name"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["place", "name"], name="swab_point_names_are_unique")]

    def __str__(self) -> str:
        return f"{self.place.name}: {self.name}"


class Rota(models.Model):
    """How often swabs are taken in a zone: at_once points every every_days, in turn. A later row takes its place."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="+")
    zone = models.PositiveSmallIntegerField(choices=SwabPoint.Zone.choices)
    first_on = models.DateField()
    every_days = models.PositiveSmallIntegerField()
    at_once = models.PositiveSmallIntegerField()
    control_point_code = models.CharField(max_length=12, help_text=_("Whose deviation a find opens"))
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by")
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(every_days__gte=1, at_once__gte=1), name="a_rota_asks_for_swabs")
        ]

    def __str__(self) -> str:
        return f"zone {self.zone}: {self.at_once} every {self.every_days} days"


class Swab(models.Model):
    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    point = models.ForeignKey(SwabPoint, on_delete=models.PROTECT, related_name="swabs")
    code = models.CharField(max_length=40, help_text=_("As written on the tube"))
    taken_at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-taken_at"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["point", "code"], name="swab_codes_are_unique")]

    def __str__(self) -> str:
        return self.code

    @property
    def result(self) -> "SwabResult | None":
        """The one that nobody replaced; no query where the results were prefetched."""
        results = list(self.results.all())
        replaced = {one.replaces_id for one in results}
        return next((one for one in results if one.pk not in replaced), None)


class SwabSent(models.Model):
    """A swab that went to a laboratory: the test of the sample that it is there. Its result is kept in both."""

    swab = models.OneToOneField(Swab, on_delete=models.PROTECT, primary_key=True, related_name="sent")
    test = models.OneToOneField(SampleTest, on_delete=models.PROTECT, related_name="swab_sent")

    def __str__(self) -> str:
        return f"{self.swab}: {self.test.sample}"


class SwabResult(models.Model):
    """What was found on a swab. One that is corrected is replaced by a further row with its reason; both stay."""

    class Found(models.TextChoices):
        NOTHING = "nothing", _("Listeria spp. not detected")
        SPECIES = "species", _("Listeria spp. detected")
        MONOCYTOGENES = "monocytogenes", _("Listeria monocytogenes detected")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    swab = models.ForeignKey(Swab, on_delete=models.PROTECT, related_name="results")
    found = models.CharField(max_length=14, choices=Found.choices)
    laboratory = models.CharField(max_length=120)
    report = models.CharField(max_length=80, help_text=_("Number of the laboratory's report"))
    reported_on = models.DateField()
    deviation = models.OneToOneField(
        Deviation, on_delete=models.PROTECT, null=True, blank=True, related_name="swab_result"
    )
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by")
    replace_reason = models.TextField(blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["recorded_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["swab"], condition=models.Q(replaces__isnull=True), name="a_swab_has_one_first_result"
            ),
            models.CheckConstraint(
                condition=models.Q(replaces__isnull=True) | ~models.Q(replace_reason=""),
                name="a_replaced_swab_result_has_a_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.swab}: {self.get_found_display()}"

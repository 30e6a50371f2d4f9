"""How a cheese is made here: its stages in order, with targets, limits and doses. A version in use never changes."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from batches.intake.models import IngredientLot
from haccp.plan.models import MilkSpecies, Product
from haccp.premises.models import User


class StageKind(models.TextChoices):
    WARM = "warm", _("warm the milk")
    RIPEN = "ripen", _("add starter, ripen the milk")
    RENNET = "rennet", _("add rennet")
    FLOCCULATION = "flocculation", _("watch for flocculation")
    CUT = "cut", _("cut the curd")
    HEAL = "heal", _("let the curd heal")
    STIR = "stir", _("stir")
    DRAIN = "drain", _("drain the whey")
    MOULD = "mould", _("fill the moulds")
    PRESS = "press", _("press")
    TURN = "turn", _("turn")
    SALT = "salt", _("salt")
    DRY = "dry", _("dry")
    PIERCE = "pierce", _("pierce")
    RIPENING = "ripening", _("ripen the cheese")
    PACK = "pack", _("pack")


class Procedure(models.Model):
    """number: version of the product's procedure. in_use_from: None for a draft; a product has one draft at most."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="procedures")
    number = models.PositiveIntegerField()
    note = models.TextField(blank=True, help_text=_("What changed, and why"))
    drafted_at = models.DateTimeField(default=timezone.now)
    drafted_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    in_use_from = models.DateTimeField(null=True, blank=True)
    put_in_use_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["product", "-number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["product", "number"], name="procedure_numbers_are_unique"),
            models.UniqueConstraint(
                fields=["product"], condition=models.Q(in_use_from__isnull=True), name="one_draft_of_a_procedure"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.product} {self.number}"


class ProcedureMilk(models.Model):
    """A milk of a mixed-milk cheese: which share of the vat it may be, in per cent. Without any, the product's own."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    procedure = models.ForeignKey(Procedure, on_delete=models.CASCADE, related_name="milks")
    species = models.CharField(max_length=12, choices=MilkSpecies.choices)
    share_low_percent = models.FloatField(default=0.0)
    share_high_percent = models.FloatField(default=100.0)

    class Meta:
        ordering: ClassVar = ["species"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["procedure", "species"], name="a_milk_is_named_once"),
            models.CheckConstraint(
                condition=models.Q(
                    share_low_percent__gte=0,
                    share_high_percent__lte=100,
                    share_low_percent__lte=models.F("share_high_percent"),
                ),
                name="shares_of_milk_are_per_cent",
            ),
        ]

    def __str__(self) -> str:
        return str(self.get_species_display())


class ProcedureStage(models.Model):
    """Lows and highs are limits, targets what is aimed at; None where nothing is asked. Titratable acidity in % lactic
    acid, durations in s from the beginning of the stage.

    multiplier: of the flocculation time (kind flocculation). salt_percent: of the curd. press_kg: hung on a press
    whose lever multiplies it by lever_advantage, on cheeses_side_by_side round faces of face_diameter_m.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    procedure = models.ForeignKey(Procedure, on_delete=models.CASCADE, related_name="stages")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=16, choices=StageKind.choices)
    name = models.CharField(max_length=80)
    instruction = models.TextField(blank=True)
    temperature_low_c = models.FloatField(null=True, blank=True)
    temperature_target_c = models.FloatField(null=True, blank=True)
    temperature_high_c = models.FloatField(null=True, blank=True)
    ph_low = models.FloatField(null=True, blank=True)
    ph_target = models.FloatField(null=True, blank=True)
    ph_high = models.FloatField(null=True, blank=True)
    acidity_low_percent = models.FloatField(null=True, blank=True)
    acidity_target_percent = models.FloatField(null=True, blank=True)
    acidity_high_percent = models.FloatField(null=True, blank=True)
    duration_low_s = models.FloatField(null=True, blank=True)
    duration_target_s = models.FloatField(null=True, blank=True)
    duration_high_s = models.FloatField(null=True, blank=True)
    multiplier = models.FloatField(null=True, blank=True)
    salt_percent = models.FloatField(null=True, blank=True)
    press_kg = models.FloatField(null=True, blank=True)
    lever_advantage = models.FloatField(null=True, blank=True)
    face_diameter_m = models.FloatField(null=True, blank=True)
    cheeses_side_by_side = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["position"]

    def __str__(self) -> str:
        return self.name


class Dose(models.Model):
    """amount in unit for each per_milk_l litres in the vat; unit "IMCU" doses rennet by its activity."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    stage = models.ForeignKey(ProcedureStage, on_delete=models.CASCADE, related_name="doses")
    ingredient_kind = models.CharField(max_length=16, choices=IngredientLot.Kind.choices)
    name = models.CharField(max_length=120, blank=True)
    amount = models.FloatField()
    unit = models.CharField(max_length=8)
    per_milk_l = models.FloatField(default=100.0)

    class Meta:
        ordering: ClassVar = ["stage__position", "ingredient_kind", "name"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(amount__gt=0, per_milk_l__gt=0), name="a_dose_is_above_zero")
        ]

    def __str__(self) -> str:
        return self.name or str(self.get_ingredient_kind_display())

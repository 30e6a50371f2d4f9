"""Ingredients and packaging, by the lot: what came in, when it expires, and corrections of its stock."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from batches.intake.models.supplier import Supplier
from haccp.lots.models import Lot
from haccp.premises.models import User


class IngredientLot(models.Model):
    """amount_si in kg, L or pieces, as quantity says; typed_amount and typed_unit as written.

    supplier_lot: the number on the label. expires_on: its last day; None where it has none (salt, water).
    strength: of rennet, in strength_unit. bulk_density_g_per_ml: of a powder, for spoon measures.
    """

    class Kind(models.TextChoices):
        CULTURE = "culture", _("starter culture")
        MOULD = "mould", _("mould or ripening culture")
        RENNET = "rennet", _("rennet")
        CALCIUM_CHLORIDE = "calcium_chloride", _("calcium chloride")
        SALT = "salt", _("salt")
        WATER = "water", _("water")
        PACKAGING = "packaging", _("packaging")
        OTHER = "other", _("other ingredient")

    class Quantity(models.TextChoices):
        MASS = "mass", _("by weight")
        VOLUME = "volume", _("by volume")
        PIECES = "pieces", _("by the piece")

    class StrengthUnit(models.TextChoices):
        IMCU = "IMCU/mL", _("IMCU per mL (or g)")
        SOXHLET = "1:N", _("1 : N (Soxhlet)")

    lot = models.OneToOneField(Lot, on_delete=models.PROTECT, primary_key=True, related_name="ingredient")
    kind = models.CharField(max_length=16, choices=Kind.choices)
    name = models.CharField(max_length=120)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, null=True, blank=True, related_name="ingredients")
    supplier_lot = models.CharField(max_length=80, blank=True)
    expires_on = models.DateField(null=True, blank=True)
    quantity = models.CharField(max_length=8, choices=Quantity.choices)
    amount_si = models.FloatField()
    typed_amount = models.CharField(max_length=40)
    typed_unit = models.CharField(max_length=8)
    strength = models.FloatField(null=True, blank=True)
    strength_unit = models.CharField(max_length=8, blank=True, choices=StrengthUnit.choices)
    bulk_density_g_per_ml = models.FloatField(null=True, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(amount_si__gt=0), name="an_ingredient_has_an_amount")
        ]

    def __str__(self) -> str:
        return f"{self.lot.code} {self.name}"


class StockChange(models.Model):
    """What left or joined an ingredient lot other than by a make: spilled, thrown away, counted. change_si in the SI
    unit of the lot's quantity, below zero for less."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="stock_changes")
    change_si = models.FloatField()
    typed_text = models.CharField(max_length=40)
    typed_unit = models.CharField(max_length=8)
    reason = models.TextField()
    changed_at = models.DateTimeField(default=timezone.now)
    changed_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["changed_at"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=~models.Q(reason=""), name="a_change_of_stock_has_a_reason")
        ]

    def __str__(self) -> str:
        return self.reason

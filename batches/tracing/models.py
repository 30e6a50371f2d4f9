"""What comes off a batch beside its cheese, and is traced in its own right: whey, cream, trim."""

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from haccp.lots.models import Lot


class ByProduct(models.Model):
    """amount in L or kg as `unit` says; typed_amount and typed_unit as the person wrote it."""

    class Kind(models.TextChoices):
        WHEY = "whey", _("whey")
        CREAM = "cream", _("whey cream")
        TRIM = "trim", _("trim")
        CURD = "curd", _("curd")

    lot = models.OneToOneField(Lot, on_delete=models.PROTECT, primary_key=True, related_name="by_product")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    amount = models.FloatField()
    unit = models.CharField(max_length=4)
    typed_amount = models.CharField(max_length=40)
    typed_unit = models.CharField(max_length=8)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(amount__gt=0), name="a_by_product_is_more_than_nothing")
        ]

    def __str__(self) -> str:
        return f"{self.lot.code} {self.get_kind_display()}"

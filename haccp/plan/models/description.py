"""What a revision says of a product, its use and those who eat it."""

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from haccp.plan.models.part import PartOfPlan
from haccp.plan.models.product import Product


class ProductDescription(PartOfPlan):
    """Percentages are g per 100 g."""

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="descriptions")
    composition = models.TextField(blank=True)
    ph_low = models.FloatField(null=True, blank=True)
    ph_high = models.FloatField(null=True, blank=True)
    water_activity_high = models.FloatField(null=True, blank=True)
    salt_percent = models.FloatField(null=True, blank=True)
    moisture_percent = models.FloatField(null=True, blank=True)
    milk_fat_percent = models.FloatField(null=True, blank=True)
    ageing_days = models.PositiveSmallIntegerField(null=True, blank=True)
    ageing_temperature_c = models.FloatField(null=True, blank=True)
    herds_free = models.CharField(max_length=3, blank=True, choices=[("yes", _("yes")), ("no", _("no"))])
    packaging = models.TextField(blank=True)
    shelf_life_days = models.PositiveSmallIntegerField(null=True, blank=True)
    storage = models.TextField(blank=True)
    storage_temperature_c = models.FloatField(null=True, blank=True)
    labelling = models.TextField(blank=True)
    allergens = models.JSONField(default=list, blank=True)
    intended_use = models.TextField(blank=True)
    vulnerable_consumers = models.TextField(blank=True)
    dispatch_every_days = models.FloatField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["product__name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["revision", "product"], name="one_description_per_product")
        ]

    def __str__(self) -> str:
        return str(self.product)

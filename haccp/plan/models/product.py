"""A cheese, by its identity."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from haccp.premises.models import Premises


class MilkSpecies(models.TextChoices):
    COW = "cow", _("cow")
    GOAT = "goat", _("goat")
    EWE = "ewe", _("ewe")
    BUFFALO = "buffalo", _("buffalo")


class MilkTreatment(models.TextChoices):
    RAW = "raw", _("raw")
    THERMISED = "thermised", _("thermised")
    PASTEURISED = "pasteurised", _("pasteurised")


class Product(models.Model):
    """A cheese, by its identity; what the plan says of it belongs to a revision."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="products")
    name = models.CharField(max_length=120)
    code = models.CharField(max_length=8, help_text=_("Start of its batch codes"))
    species = models.CharField(max_length=12, choices=MilkSpecies.choices)
    treatment = models.CharField(max_length=12, choices=MilkTreatment.choices)
    family = models.CharField(max_length=60, blank=True)
    added_at = models.DateTimeField(null=True, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["premises", "name"], name="product_names_are_unique"),
            models.UniqueConstraint(fields=["premises", "code"], name="product_codes_are_unique"),
        ]

    def __str__(self) -> str:
        return self.name

"""The flow of steps, and the hazards at each."""

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from haccp.plan.models.part import PartOfPlan
from haccp.plan.models.product import Product
from haccp.plan.models.revision import PlanRevision


class ProcessStep(PartOfPlan):
    class Kind(models.TextChoices):
        RECEPTION = "reception", _("reception")
        OPERATION = "operation", _("operation")
        STORAGE = "storage", _("storage")
        TRANSPORT = "transport", _("transport")
        PACKING = "packing", _("packing")
        DISPATCH = "dispatch", _("dispatch")
        DISPOSAL = "disposal", _("disposal")

    revision = models.ForeignKey(PlanRevision, on_delete=models.CASCADE, related_name="steps")
    position = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=12, choices=Kind.choices, default=Kind.OPERATION)
    description = models.TextField(blank=True)
    products = models.ManyToManyField(Product, blank=True, help_text=_("None = all products"))

    class Meta:
        ordering: ClassVar = ["position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["revision", "position"], name="step_positions_are_unique")
        ]

    def __str__(self) -> str:
        return self.name


class Hazard(PartOfPlan):
    class Kind(models.TextChoices):
        BIOLOGICAL = "biological", _("biological")
        CHEMICAL = "chemical", _("chemical")
        PHYSICAL = "physical", _("physical")
        ALLERGEN = "allergen", _("allergen")

    revision = models.ForeignKey(PlanRevision, on_delete=models.CASCADE, related_name="hazards")
    step = models.ForeignKey(ProcessStep, on_delete=models.CASCADE, related_name="hazards")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    name = models.CharField(max_length=160)
    agent = models.CharField(max_length=60, blank=True, help_text=_("brucella, listeria_monocytogenes ..."))
    likelihood = models.PositiveSmallIntegerField(default=1)
    severity = models.PositiveSmallIntegerField(default=1)
    significant = models.BooleanField()
    justification = models.TextField()
    acceptable_level = models.TextField(blank=True)
    control_measure = models.TextField(blank=True)

    class Meta:
        ordering: ClassVar = ["step__position", "name"]

    def __str__(self) -> str:
        return self.name

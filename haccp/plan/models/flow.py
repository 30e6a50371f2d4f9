"""The flow diagram: what goes in and out of the steps, and the ways between them."""

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from haccp.plan.models.part import PartOfPlan
from haccp.plan.models.process import ProcessStep


class StepMaterial(PartOfPlan):
    class Direction(models.TextChoices):
        IN = "in", _("goes in")
        OUT = "out", _("comes out")

    class Kind(models.TextChoices):
        MILK = "milk", _("milk")
        INGREDIENT = "ingredient", _("ingredient")
        PROCESSING_AID = "processing_aid", _("processing aid")
        WATER = "water", _("water, steam or ice")
        PACKAGING = "packaging", _("packaging")
        PRODUCT = "product", _("product")
        BY_PRODUCT = "by_product", _("by-product")
        WASTE = "waste", _("waste")

    step = models.ForeignKey(ProcessStep, on_delete=models.CASCADE, related_name="materials")
    direction = models.CharField(max_length=4, choices=Direction.choices)
    kind = models.CharField(max_length=16, choices=Kind.choices)
    name = models.CharField(max_length=80)

    class Meta:
        ordering: ClassVar = ["step__position", "direction", "name"]

    def __str__(self) -> str:
        return self.name


class FlowLink(PartOfPlan):
    class Kind(models.TextChoices):
        FLOW = "flow", _("flow")
        BRANCH = "branch", _("branch")
        REWORK = "rework", _("rework")
        WASTE = "waste", _("waste")

    start = models.ForeignKey(ProcessStep, on_delete=models.CASCADE, related_name="links_out")
    end = models.ForeignKey(ProcessStep, on_delete=models.CASCADE, related_name="links_in")
    kind = models.CharField(max_length=8, choices=Kind.choices, default=Kind.FLOW)
    label = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering: ClassVar = ["start__position", "end__position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["start", "end", "kind"], name="one_link_of_a_kind_between_two_steps"),
            models.CheckConstraint(condition=~models.Q(start=models.F("end")), name="no_step_follows_itself"),
        ]

    def __str__(self) -> str:
        return f"{self.start} → {self.end}"

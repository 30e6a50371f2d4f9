"""Control points and their critical limits."""

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from haccp.plan.models.part import PartOfPlan
from haccp.plan.models.process import Hazard, ProcessStep
from haccp.plan.models.product import Product
from haccp.plan.models.revision import PlanRevision
from haccp.science.limit import Comparator, Limit


class ControlPoint(PartOfPlan):
    """A critical control point, or a prerequisite programme, with what the plan says to do when it fails."""

    class Kind(models.TextChoices):
        CCP = "ccp", _("critical control point")
        PREREQUISITE = "prerequisite", _("prerequisite programme")

    revision = models.ForeignKey(PlanRevision, on_delete=models.CASCADE, related_name="control_points")
    step = models.ForeignKey(
        ProcessStep, on_delete=models.CASCADE, null=True, blank=True, related_name="control_points"
    )
    kind = models.CharField(max_length=14, choices=Kind.choices)
    code = models.CharField(max_length=12, help_text=_("CCP 1, PRP 3"))
    name = models.CharField(max_length=120)
    programme = models.CharField(max_length=40, blank=True, help_text=_("cleaning, pests, calibration ..."))
    hazards = models.ManyToManyField(Hazard, blank=True, related_name="control_points")
    corrective_action = models.TextField(help_text=_("What the plan prescribes when the limit is not met"))
    disposition = models.TextField(blank=True, help_text=_("What is done with the product made meanwhile"))
    verification = models.TextField(blank=True)
    two_to_close = models.BooleanField(
        default=False, help_text=_("Whoever recorded a deviation does not close it alone")
    )

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["revision", "code"], name="control_point_codes_are_unique")
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    @property
    def is_critical(self) -> bool:
        return self.kind == self.Kind.CCP


class CriticalLimit(PartOfPlan):
    """A limit as data: what is judged, against which value, in which way, and on whose authority."""

    revision = models.ForeignKey(PlanRevision, on_delete=models.CASCADE, related_name="limits")
    control_point = models.ForeignKey(ControlPoint, on_delete=models.CASCADE, related_name="limits")
    statement = models.CharField(max_length=240, help_text=_("The limit in words, as the CCP sheet prints it"))
    quantity = models.CharField(max_length=40)
    evaluator = models.CharField(max_length=40)
    comparator = models.CharField(max_length=12, choices=[(c.value, c.value.replace("_", " ")) for c in Comparator])
    low = models.FloatField(null=True, blank=True)
    high = models.FloatField(null=True, blank=True)
    target_low = models.FloatField(null=True, blank=True)
    target_high = models.FloatField(null=True, blank=True)
    accepted = models.JSONField(default=list, blank=True)
    parameters = models.JSONField(default=dict, blank=True)
    unit = models.CharField(max_length=16, blank=True)
    source_document = models.CharField(max_length=160, blank=True)
    source_clause = models.CharField(max_length=160, blank=True)
    products = models.ManyToManyField(Product, blank=True, help_text=_("None = all products"))

    class Meta:
        ordering: ClassVar = ["control_point__code", "statement"]

    def __str__(self) -> str:
        return self.statement

    def as_limit(self) -> Limit:
        return Limit(
            quantity=self.quantity,
            evaluator=self.evaluator,
            comparator=Comparator(self.comparator),
            low=self.low,
            high=self.high,
            target_low=self.target_low,
            target_high=self.target_high,
            accepted=tuple(self.accepted),
            parameters=dict(self.parameters),
            unit=self.unit,
        )

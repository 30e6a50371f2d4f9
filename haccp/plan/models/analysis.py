"""What controls each hazard, and the decision tree's answers."""

from typing import ClassVar

from django.db import models

from haccp.plan.models.control import ControlPoint
from haccp.plan.models.part import PartOfPlan
from haccp.plan.models.process import Hazard, ProcessStep
from haccp.science.decision_tree import CURRENT, TREES, Determination, determine


class ControlMeasure(PartOfPlan):
    hazard = models.ForeignKey(Hazard, on_delete=models.CASCADE, related_name="measures")
    description = models.TextField()
    step = models.ForeignKey(ProcessStep, on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    control_point = models.ForeignKey(
        ControlPoint, on_delete=models.CASCADE, null=True, blank=True, related_name="control_measures"
    )

    class Meta:
        ordering: ClassVar = ["hazard__step__position", "hazard__name", "description"]

    def __str__(self) -> str:
        return self.description


class DecisionAnswers(PartOfPlan):
    """answers: key of question -> bool, in the tree named. The determination is derived, so it is no column."""

    hazard = models.ForeignKey(Hazard, on_delete=models.CASCADE, related_name="decisions")
    step = models.ForeignKey(ProcessStep, on_delete=models.CASCADE, related_name="decisions")
    tree = models.CharField(
        max_length=16, choices=[(tree.version, tree.title) for tree in TREES.values()], default=CURRENT
    )
    answers = models.JSONField(default=dict)
    reasons = models.TextField(blank=True)

    class Meta:
        ordering: ClassVar = ["hazard__step__position", "hazard__name", "step__position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["hazard", "step"], name="one_determination_per_hazard_and_step")
        ]

    def __str__(self) -> str:
        return self.determination.reason

    @property
    def determination(self) -> Determination:
        return determine(self.tree, self.answers)

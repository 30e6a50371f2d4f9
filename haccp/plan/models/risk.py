"""The scale on which the producer weighs hazards."""

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from haccp.plan.models.part import PartOfPlan


class RiskLevel(PartOfPlan):
    class Axis(models.TextChoices):
        LIKELIHOOD = "likelihood", _("likelihood")
        SEVERITY = "severity", _("severity")

    axis = models.CharField(max_length=12, choices=Axis.choices)
    rank = models.PositiveSmallIntegerField()
    word = models.CharField(max_length=60)
    meaning = models.TextField(blank=True)

    class Meta:
        ordering: ClassVar = ["axis", "rank"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["revision", "axis", "rank"], name="one_word_per_rank_of_risk")
        ]

    def __str__(self) -> str:
        return f"{self.rank} {self.word}"

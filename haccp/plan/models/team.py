"""Who keeps the plan."""

from typing import ClassVar

from django.db import models

from haccp.plan.models.part import PartOfPlan


class TeamMember(PartOfPlan):
    """A person of the team and what makes them fit for it; text, since some are no users here."""

    name = models.CharField(max_length=120)
    duty = models.CharField(max_length=120, blank=True)
    competence = models.TextField(blank=True)
    from_outside = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name

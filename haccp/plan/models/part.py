"""What every part of a revision has."""

import uuid

from django.db import models

from haccp.plan.models.revision import PlanRevision


class PartOfPlan(models.Model):
    """A row of one revision. origin: key of the part that it was copied from, so that revisions can be compared."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    revision = models.ForeignKey(PlanRevision, on_delete=models.CASCADE, related_name="+")
    origin = models.UUIDField(null=True, blank=True, editable=False)

    class Meta:
        abstract = True

    @property
    def key(self) -> str:
        """Names the part within its plan, and stays the same from revision to revision."""
        return str(self.origin or self.pk)

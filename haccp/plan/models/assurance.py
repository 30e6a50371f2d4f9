"""How it is known that the plan works: validation, verification, documents and records."""

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from haccp.plan.models.control import ControlPoint, CriticalLimit
from haccp.plan.models.part import PartOfPlan


class Validation(PartOfPlan):
    class Kind(models.TextChoices):
        LAW = "law", _("set by law or an official code")
        LITERATURE = "literature", _("published study or guidance")
        STUDY = "study", _("own study")
        TRIAL = "trial", _("trial at this dairy")
        HISTORY = "history", _("records of this dairy")

    control_point = models.ForeignKey(ControlPoint, on_delete=models.CASCADE, related_name="validations")
    limit = models.ForeignKey(
        CriticalLimit, on_delete=models.CASCADE, null=True, blank=True, related_name="validations"
    )
    kind = models.CharField(max_length=12, choices=Kind.choices)
    statement = models.TextField()
    document = models.CharField(max_length=240, blank=True)
    performed_on = models.DateField(null=True, blank=True)
    performed_by = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering: ClassVar = ["control_point__code", "document"]

    def __str__(self) -> str:
        return self.document or self.statement


class Verification(PartOfPlan):
    """control_point: None for an activity of the whole plan. cadence: see haccp.science.schedule."""

    control_point = models.ForeignKey(
        ControlPoint, on_delete=models.CASCADE, null=True, blank=True, related_name="verifications"
    )
    what = models.CharField(max_length=160)
    how = models.TextField(blank=True)
    who = models.CharField(max_length=80, blank=True)
    cadence = models.JSONField()

    class Meta:
        ordering: ClassVar = ["control_point__code", "what"]

    def __str__(self) -> str:
        return self.what


class KeptDocument(PartOfPlan):
    class Kind(models.TextChoices):
        DOCUMENT = "document", _("document")
        RECORD = "record", _("record")

    name = models.CharField(max_length=160)
    kind = models.CharField(max_length=12, choices=Kind.choices)
    kept_where = models.CharField(max_length=160, blank=True)
    responsible = models.CharField(max_length=120, blank=True)
    retention_days = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["kind", "name"]

    def __str__(self) -> str:
        return self.name

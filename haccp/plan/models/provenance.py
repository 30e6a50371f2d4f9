"""Where a value was taken from, and what is left for the producer to judge."""

from typing import ClassVar

from django.db import models

from haccp.plan.models.part import PartOfPlan


class Borrowed(PartOfPlan):
    """part_key: key of the part that holds the value; field: which of its fields, the whole part when empty.

    entry: key in the library of published values.
    """

    part_key = models.UUIDField()
    field = models.CharField(max_length=40, blank=True)
    entry = models.CharField(max_length=120, blank=True)
    document = models.CharField(max_length=240)
    clause = models.CharField(max_length=160, blank=True)
    jurisdiction = models.CharField(max_length=12, blank=True)
    edition = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering: ClassVar = ["document", "clause"]

    def __str__(self) -> str:
        return self.document


class OpenJudgement(PartOfPlan):
    """part_key: the part that the question concerns; None for the whole plan. Open while the answer is empty."""

    part_key = models.UUIDField(null=True, blank=True)
    question = models.TextField()
    answer = models.TextField(blank=True)

    class Meta:
        ordering: ClassVar = ["question"]

    def __str__(self) -> str:
        return self.question

"""A recall, or the exercise of one: when the clock was started, and each thing that was done, with its moment."""

import uuid
from datetime import timedelta
from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from haccp.lots.models import Lot
from haccp.premises.models import Premises, User


class Recall(models.Model):
    """The id is made with the form, so that a double tap starts one clock. repeat_after_days: 0 for never."""

    class Kind(models.TextChoices):
        EXERCISE = "exercise", _("exercise")
        REAL = "real", _("real recall")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="recalls")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    reason = models.TextField()
    repeat_after_days = models.PositiveSmallIntegerField(default=365)
    started_at = models.DateTimeField()
    started_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-started_at"]
        indexes: ClassVar = [models.Index(fields=["premises", "-started_at"])]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.started_at:%Y-%m-%d}"


class RecallMark(models.Model):
    """Something done in a recall. figures: what the list showed then, so that the record does not move with stock."""

    class Kind(models.TextChoices):
        CHOSEN = "chosen", _("lot chosen and all it reaches listed")
        REACHED = "reached", _("customer reached")
        NOTE = "note", _("note")
        FINISHED = "finished", _("finished")

    class Reach(models.TextChoices):
        FORWARD = "forward", _("what was made of it")
        SIBLINGS = "siblings", _("and all that shares its milk and ingredients")
        IMPLICATED = "implicated", _("and all that the deviations about it implicate")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    recall = models.ForeignKey(Recall, on_delete=models.PROTECT, related_name="marks")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    reach = models.CharField(max_length=10, choices=Reach.choices, blank=True)
    customer = models.ForeignKey(
        "stock.Customer", on_delete=models.PROTECT, null=True, blank=True, related_name="recall_marks"
    )
    note = models.TextField(blank=True)
    figures = models.JSONField(default=dict)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["recall"], condition=models.Q(kind="finished"), name="a_recall_is_finished_once"
            ),
            models.UniqueConstraint(fields=["recall"], condition=models.Q(kind="chosen"), name="a_recall_has_one_lot"),
            models.UniqueConstraint(
                fields=["recall", "customer"], condition=models.Q(kind="reached"), name="a_customer_is_reached_once"
            ),
            models.CheckConstraint(
                condition=models.Q(kind="chosen", lot__isnull=False) | ~models.Q(kind="chosen"),
                name="what_is_chosen_is_a_lot",
            ),
        ]

    def __str__(self) -> str:
        return self.kind

    @property
    def elapsed(self) -> timedelta:
        """Since the clock was started."""
        return self.at - self.recall.started_at

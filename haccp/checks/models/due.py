"""Checks that are due, and those that nobody did.

A DueCheck row is computed, not entered: science.schedule says which rows exist, and a sweep may make them again at
any time. What people did with them (Record, MissedCheck, MissedReason) is sealed.
"""

import uuid
from datetime import datetime
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.lots.models import Lot
from haccp.plan.models import Check
from haccp.premises.models import Premises, User


class DueQuerySet(models.QuerySet["DueCheck"]):
    def for_premises(self, premises: Premises) -> "DueQuerySet":
        return self.filter(premises=premises)

    def unsettled(self) -> "DueQuerySet":
        return self.filter(settled_at__isnull=True)

    def past_grace(self, now: datetime) -> "DueQuerySet":
        return self.unsettled().filter(grace_ends_at__lte=now)


class DueCheck(models.Model):
    """One check that falls due once. settled_at is set when a record or a missed check answers it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    # The indexes below serve the foreign keys too: every flag of a missed check writes each index of this table anew.
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="due_checks", db_index=False)
    check_due = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="due_checks", db_index=False)
    lot = models.ForeignKey(
        Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="due_checks", db_index=False
    )
    slot_key = models.CharField(max_length=160, help_text="science.schedule.Slot.key, prefixed with the lot's id")
    opens_at = models.DateTimeField()
    due_at = models.DateTimeField()
    grace_ends_at = models.DateTimeField()
    settled_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.ForeignKey(
        "checks.Record",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        db_index=False,
        help_text=_("An extra check that was done before it was known that this one would be due"),
    )

    # Follows from the missed check and its reason, which are sealed; kept here so that what is unanswered is found
    # without reading all that ever was answered.
    reason_wanted = models.BooleanField(default=False)

    objects = DueQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["due_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["check_due", "slot_key"], name="a_check_falls_due_once_per_slot")
        ]
        indexes: ClassVar = [
            models.Index(
                fields=["grace_ends_at"], condition=models.Q(settled_at__isnull=True), name="unsettled_by_grace"
            ),
            models.Index(fields=["premises", "due_at"]),
            models.Index(fields=["lot"], condition=models.Q(lot__isnull=False), name="due_checks_of_a_lot"),
            models.Index(
                fields=["answered_by"], condition=models.Q(answered_by__isnull=False), name="answered_by_an_extra"
            ),
            models.Index(fields=["premises"], condition=models.Q(reason_wanted=True), name="missed_and_no_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.check_due} {self.due_at:%Y-%m-%d %H:%M}"


class MissedCheck(models.Model):
    """Nobody did it in time. missed_at is when the grace ended, flagged_at when the sweep noticed."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    due = models.OneToOneField(DueCheck, on_delete=models.PROTECT, related_name="missed")
    missed_at = models.DateTimeField()
    flagged_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering: ClassVar = ["missed_at"]

    def __str__(self) -> str:
        return f"missed: {self.due}"


class MissedReason(models.Model):
    """Why it was missed, in the words of somebody who was there."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    missed = models.OneToOneField(MissedCheck, on_delete=models.PROTECT, related_name="reason")
    text = models.TextField()
    given_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    given_at = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        return self.text


class PlanningMark(models.Model):
    """How far due checks have been computed for a premises, so that a sweep costs what is new."""

    premises = models.OneToOneField(Premises, on_delete=models.CASCADE, primary_key=True, related_name="+")
    planned_until = models.DateTimeField()
    days_noted_until = models.DateField(
        null=True, blank=True, help_text=_("Days before this one that lack a review stand as DayLeftUnreviewed")
    )

    def __str__(self) -> str:
        return f"{self.premises} until {self.planned_until:%Y-%m-%d %H:%M}"


class DayLeftUnreviewed(models.Model):
    """A day of long ago that nobody has reviewed, or that was changed after its review (checks.reviewing).

    Computed, so that counting them costs what is unreviewed and not what history holds.
    """

    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="+", db_index=False)
    day = models.DateField()

    class Meta:
        ordering: ClassVar = ["day"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["premises", "day"], name="a_day_is_left_unreviewed_once")
        ]

    def __str__(self) -> str:
        return f"{self.premises} {self.day}"


class SweepRun(models.Model):
    """When the schedule last ran, for the notice that says when it has stopped. One row per name of sweep."""

    DUE_CHECKS: ClassVar = "due checks"

    name = models.CharField(max_length=40, primary_key=True)
    finished_at = models.DateTimeField()
    flagged = models.PositiveIntegerField(default=0)
    error = models.TextField(blank=True)

    def __str__(self) -> str:
        return self.name

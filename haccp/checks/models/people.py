"""Whose check it is, and who is away. Every row is sealed: the last one said counts."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone

from haccp.premises.models import Membership, Premises, User


class Keeper(models.Model):
    """From said_at on, this person does the check, in every revision that has it; None: whoever is there."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="+")
    check_key = models.UUIDField()
    membership = models.ForeignKey(Membership, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    said_at = models.DateTimeField(default=timezone.now)
    said_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        indexes: ClassVar = [models.Index(fields=["premises", "check_key", "-said_at"])]

    def __str__(self) -> str:
        return f"{self.check_key}: {self.membership or 'whoever is there'}"


class Absence(models.Model):
    """first, last: local days, both inclusive. stand_in takes over all that the person keeps; None: nobody does."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    membership = models.ForeignKey(Membership, on_delete=models.PROTECT, related_name="absences")
    first = models.DateField()
    last = models.DateField()
    stand_in = models.ForeignKey(Membership, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    note = models.CharField(max_length=200, blank=True)
    said_at = models.DateTimeField(default=timezone.now)
    said_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-first"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(last__gte=models.F("first")), name="an_absence_ends"),
            models.CheckConstraint(
                condition=models.Q(stand_in__isnull=True) | ~models.Q(stand_in=models.F("membership")),
                name="nobody_stands_in_for_themselves",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.membership.user.name}, {self.first} to {self.last}"


class BackAgain(models.Model):
    """The person is back before the last day of their absence: from this day on."""

    absence = models.OneToOneField(Absence, on_delete=models.PROTECT, primary_key=True, related_name="back")
    on = models.DateField()
    said_at = models.DateTimeField(default=timezone.now)
    said_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"back on {self.on}"

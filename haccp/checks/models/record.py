"""A check that was done: what was read, by whom, when, with what, and how each limit ruled.

Rows here are sealed: an amendment is a further Record that names the one it amends, with its reason; both are shown.
"""

import uuid
from datetime import datetime
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.checks.models.due import DueCheck
from haccp.checks.models.photo import PhotoFile
from haccp.checks.models.trace import TraceFile
from haccp.lots.models import Lot
from haccp.plan.models import Check, CriticalLimit, Measure, PlanRevision
from haccp.premises.models import Instrument, Place, Premises, User
from haccp.science.ruling import Ruling


class RecordQuerySet(models.QuerySet["Record"]):
    def for_premises(self, premises: Premises) -> "RecordQuerySet":
        return self.filter(premises=premises)

    def current(self) -> "RecordQuerySet":
        """The last word of each chain of amendments."""
        return self.filter(amended_by__isnull=True)

    def current_one_by_one(self) -> "RecordQuerySet":
        """As `current`, for the newest of many: a database that joins all of them first cannot stop at the first."""
        amendment = Record.objects.filter(amends=models.OuterRef("pk")).order_by()
        return self.alias(amended_at=models.Subquery(amendment.values("recorded_at")[:1])).filter(
            amended_at__isnull=True
        )

    def as_of(self, moment: datetime) -> "RecordQuerySet":
        """The last word of each chain as it was at that moment."""
        return self.filter(recorded_at__lte=moment).exclude(amended_by__recorded_at__lte=moment)

    def with_details(self) -> "RecordQuerySet":
        return self.select_related(
            "check_done",
            "check_done__control_point",
            "lot",
            "place",
            "instrument",
            "recorded_by",
            "amends",
            "trace",
        ).prefetch_related("readings", "readings__measure", "rulings", "rulings__limit")


class Record(models.Model):
    """The id is made by the client, so that the same record sent twice is one record.

    doubt: why it counts no more, found out later, where a page has looked it up (checks.doubts.say_doubts).
    """

    doubt = ""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="records")
    check_done = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="records")
    revision = models.ForeignKey(PlanRevision, on_delete=models.PROTECT, related_name="records")
    due = models.ForeignKey(DueCheck, on_delete=models.PROTECT, null=True, blank=True, related_name="records")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="records")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="records")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, blank=True, related_name="records")
    # The instrument as it stood that day: a later calibration must not change what an old record is judged by.
    expanded_uncertainty = models.FloatField(default=0.0, help_text=_("U (k = 2) in the unit of what was measured"))
    instrument_unfit = models.TextField(blank=True, help_text=_("Why the instrument could not be relied on"))
    trace = models.ForeignKey(TraceFile, on_delete=models.PROTECT, null=True, blank=True, related_name="records")
    trace_roles = models.JSONField(default=dict, blank=True, help_text="channel -> role, as confirmed by the person")
    observed_at = models.DateTimeField(help_text=_("When it was measured, as the person says"))
    recorded_at = models.DateTimeField(default=timezone.now, help_text=_("When the server received it"))
    device_at = models.DateTimeField(null=True, blank=True, help_text=_("What the device's clock said on sending"))
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="records")
    note = models.TextField(blank=True)
    amends = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="amended_by")
    amend_reason = models.TextField(blank=True)

    objects = RecordQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["observed_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["due"],
                condition=models.Q(amends__isnull=True),
                name="a_due_check_is_answered_once",
                violation_error_message=_("Somebody has already done this check."),
            ),
            models.CheckConstraint(
                condition=models.Q(amends__isnull=True) | ~models.Q(amend_reason=""),
                name="an_amendment_has_a_reason",
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["premises", "observed_at"]),
            models.Index(fields=["check_done", "observed_at"]),
        ]

    def __str__(self) -> str:
        return f"{self.check_done} {self.observed_at:%Y-%m-%d %H:%M}"


class Reading(models.Model):
    """One value of a record, in SI and as typed; choice for answers and texts."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="readings")
    measure = models.ForeignKey(Measure, on_delete=models.PROTECT, related_name="+")
    value_si = models.FloatField(null=True, blank=True)
    choice = models.TextField(blank=True)
    typed_text = models.CharField(max_length=80, blank=True)
    typed_unit = models.CharField(max_length=16, blank=True)
    photo = models.ForeignKey(PhotoFile, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["measure__position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["record", "measure"], name="one_reading_per_measure_of_a_record")
        ]

    def __str__(self) -> str:
        return self.typed_text or self.choice


class RulingRow(models.Model):
    """What one limit said of one record (science.ruling.Verdict, kept as it was given)."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="rulings")
    limit = models.ForeignKey(CriticalLimit, on_delete=models.PROTECT, related_name="rulings")
    ruling = models.CharField(max_length=10, choices=[(r.value, r.value) for r in Ruling])
    margin = models.FloatField(null=True, blank=True)
    code = models.CharField(max_length=60)
    reason = models.TextField()
    facts = models.JSONField(default=dict)
    judged_by = models.CharField(max_length=60, help_text="evaluator and its version")

    class Meta:
        ordering: ClassVar = ["limit__statement"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["record", "limit"], name="one_ruling_per_limit_of_a_record")
        ]

    def __str__(self) -> str:
        return self.ruling

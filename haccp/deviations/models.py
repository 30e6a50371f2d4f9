"""Deviations: what went wrong, which lots it may have touched, and what was done about it.

Every row is sealed. A step is corrected by a further step of the same kind; the last one of a kind counts, all are
shown. A deviation is open until it has a Closure.
"""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.checks.models import MissedCheck, RulingRow
from haccp.ledger.models import Signature
from haccp.lots.models import Lot
from haccp.plan.models import ControlPoint
from haccp.premises.models import Premises, User


class DeviationQuerySet(models.QuerySet["Deviation"]):
    def for_premises(self, premises: Premises) -> "DeviationQuerySet":
        return self.filter(premises=premises)

    def open(self) -> "DeviationQuerySet":
        return self.filter(closure__isnull=True)

    def closed(self) -> "DeviationQuerySet":
        return self.filter(closure__isnull=False)


class Deviation(models.Model):
    class Cause(models.TextChoices):
        RULING = "ruling", _("a reading outside its limit, or not proven")
        MISSED = "missed", _("a check that nobody did")
        BY_HAND = "by_hand", _("reported by a person")
        COMPLAINT = "complaint", _("a complaint")
        INSTRUMENT = "instrument", _("an instrument found out")
        LABORATORY = "laboratory", _("a result of the laboratory")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="deviations")
    year = models.PositiveSmallIntegerField()
    number = models.PositiveIntegerField()
    cause = models.CharField(max_length=10, choices=Cause.choices)
    ruling = models.OneToOneField(RulingRow, on_delete=models.PROTECT, null=True, blank=True, related_name="deviation")
    missed = models.OneToOneField(
        MissedCheck, on_delete=models.PROTECT, null=True, blank=True, related_name="deviation"
    )
    control_point = models.ForeignKey(ControlPoint, on_delete=models.PROTECT, related_name="deviations")
    summary = models.TextField()
    occurred_at = models.DateTimeField()
    opened_at = models.DateTimeField(default=timezone.now)
    opened_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    exposed_from = models.DateTimeField(null=True, blank=True, help_text=_("the last check that was met before it"))
    origin_unknown = models.BooleanField(
        default=False,
        help_text=_("Something was found and nobody knows where it came from: what shares a source is implicated too"),
    )

    objects = DeviationQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-opened_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["premises", "year", "number"], name="deviation_numbers_are_unique"),
            models.CheckConstraint(
                # One cause set and all others null, spelled out: XOR would count parity.
                condition=Q(cause="ruling", ruling__isnull=False, missed__isnull=True)
                | Q(cause="missed", ruling__isnull=True, missed__isnull=False)
                | ~Q(cause__in=["ruling", "missed"]) & Q(ruling__isnull=True, missed__isnull=True),
                name="a_deviation_has_one_cause",
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["premises", "-opened_at"])]

    def __str__(self) -> str:
        return self.reference

    @property
    def reference(self) -> str:
        return f"D{self.year}-{self.number:03d}"

    @property
    def hold_cause(self) -> str:
        """What lots.Hold.cause says of a hold placed by this deviation."""
        return f"deviation:{self.id}"


class MissedAgain(models.Model):
    """A check missed again while the deviation of the first time stands open and nothing was met in between.

    It is one loss of control that goes on, and is answered as one: what came there meanwhile is implicated by the open
    deviation (actions.implicate).
    """

    missed = models.OneToOneField(
        MissedCheck, on_delete=models.PROTECT, primary_key=True, related_name="deviation_joined"
    )
    deviation = models.ForeignKey(Deviation, on_delete=models.PROTECT, related_name="missed_again")
    joined_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["missed__missed_at"]

    def __str__(self) -> str:
        return f"{self.deviation}: {self.missed}"


class ImplicatedLot(models.Model):
    """A lot that the breach may have touched, by which way, and from when on."""

    class Way(models.TextChoices):
        DIRECT = "direct", _("touched itself")
        ONWARD = "onward", _("came to it from there")
        COMMON = "common", _("shares a source or a room with it")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    deviation = models.ForeignKey(Deviation, on_delete=models.PROTECT, related_name="implicated")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="implicated_by")
    why = models.TextField()
    way = models.CharField(max_length=8, choices=Way.choices)
    touched_from = models.DateTimeField()
    # None: found when the deviation was opened, and sealed with it.
    widening = models.ForeignKey("Widening", on_delete=models.PROTECT, null=True, blank=True, related_name="lots")

    class Meta:
        ordering: ClassVar = ["lot__code"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["deviation", "lot"], name="a_lot_is_implicated_once")]

    def __str__(self) -> str:
        return str(self.lot)


class CorrectiveStep(models.Model):
    """The elements of a corrective action: cause, correction, disposition (one per lot), prevention, and whether the
    plan itself has to change (21 CFR 117.150(a)(2) and (b), 123.7(c); Codex CXC 1, principle 5)."""

    class Kind(models.TextChoices):
        CAUSE = "cause", _("cause")
        CORRECTION = "correction", _("correction: control regained")
        DISPOSITION = "disposition", _("disposition of the product")
        PREVENTION = "prevention", _("prevention of a recurrence")
        REASSESSMENT = "reassessment", _("reassessment of the plan")

    class Disposition(models.TextChoices):
        RELEASE = "release", _("release, with justification")
        REWORK = "rework", _("rework under control")
        HEAT_TREATMENT = "heat_treatment", _("divert to heat treatment")
        ANIMAL_FEED = "animal_feed", _("animal feed, where the authority allows it")
        DESTROY = "destroy", _("destroy")
        RETURN = "return", _("return to the supplier")
        NOT_TOUCHED = "not_touched", _("not touched after all")
        KEEP_ON_HOLD = "keep_on_hold", _("keep on hold until tested")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    deviation = models.ForeignKey(Deviation, on_delete=models.PROTECT, related_name="steps")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    text = models.TextField()
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="dispositions")
    disposition = models.CharField(max_length=16, choices=Disposition.choices, blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["recorded_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(kind="disposition", lot__isnull=False) & ~Q(disposition="")
                | ~Q(kind="disposition") & Q(lot__isnull=True, disposition=""),
                name="a_disposition_names_its_lot",
            )
        ]

    def __str__(self) -> str:
        return self.text


class Closure(models.Model):
    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    deviation = models.OneToOneField(Deviation, on_delete=models.PROTECT, related_name="closure")
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="+")
    closed_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        return f"closed {self.closed_at:%Y-%m-%d}"


class Widening(models.Model):
    """Further lots that a person says may be touched, with why; what was made from them is added."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    deviation = models.ForeignKey(Deviation, on_delete=models.PROTECT, related_name="widenings")
    reason = models.TextField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["recorded_at"]

    def __str__(self) -> str:
        return self.reason


class Task(models.Model):
    """Something to be done about a deviation, whose it is, and by when. Effectiveness is looked at after closure."""

    class Kind(models.TextChoices):
        ACTION = "action", _("to be done")
        EFFECTIVENESS = "effectiveness", _("look whether it worked")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    deviation = models.ForeignKey(Deviation, on_delete=models.PROTECT, related_name="tasks")
    kind = models.CharField(max_length=14, choices=Kind.choices)
    title = models.CharField(max_length=200)
    owner = models.ForeignKey(User, on_delete=models.PROTECT, related_name="deviation_tasks")
    due_on = models.DateField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["due_on", "recorded_at"]

    def __str__(self) -> str:
        return self.title


class TaskDone(models.Model):
    """worked: for a look at the effectiveness, whether the deviation did not come again; None for other tasks."""

    task = models.OneToOneField(Task, on_delete=models.PROTECT, primary_key=True, related_name="done")
    note = models.TextField()
    worked = models.BooleanField(null=True, blank=True)
    done_at = models.DateTimeField()
    done_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["done_at"]

    def __str__(self) -> str:
        return self.note


class Evidence(models.Model):
    """A photograph, a report, a letter: kept byte for byte (zlib), with its hash sealed."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    deviation = models.ForeignKey(Deviation, on_delete=models.PROTECT, related_name="evidence")
    filename = models.CharField(max_length=200)
    note = models.CharField(max_length=400, blank=True)
    sha256 = models.CharField(max_length=64)
    size_bytes = models.PositiveIntegerField()
    deflated = models.BinaryField()
    attached_at = models.DateTimeField()
    attached_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["attached_at"]

    def __str__(self) -> str:
        return self.filename


class LotEnd(models.Model):
    """A lot is no more, as a deviation decided: destroyed, fed, sent back. It ends the lot's holds for good."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    deviation = models.ForeignKey(Deviation, on_delete=models.PROTECT, related_name="ends")
    lot = models.OneToOneField(Lot, on_delete=models.PROTECT, related_name="end")
    disposition = models.CharField(max_length=16, choices=CorrectiveStep.Disposition.choices)
    note = models.TextField()
    ended_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["ended_at"]

    def __str__(self) -> str:
        return f"{self.lot}: {self.get_disposition_display()}"

"""Monitoring: the checks, and what is entered at each."""

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from haccp.plan.models.control import ControlPoint, CriticalLimit
from haccp.plan.models.part import PartOfPlan
from haccp.plan.models.product import Product
from haccp.plan.models.revision import PlanRevision
from haccp.premises.models import Instrument, Place


class Check(PartOfPlan):
    """Monitoring: what is looked at, how, when, where, by whom. It falls due by its cadence (science.schedule)."""

    class Subject(models.TextChoices):
        PREMISES = "premises", _("the dairy")
        PLACE = "place", _("a place")
        MILK = "milk", _("each milk lot")
        BATCH = "batch", _("each batch")

    revision = models.ForeignKey(PlanRevision, on_delete=models.CASCADE, related_name="checks")
    control_point = models.ForeignKey(ControlPoint, on_delete=models.CASCADE, related_name="checks")
    name = models.CharField(max_length=120)
    how = models.TextField(blank=True, help_text=_("The method, in the words of the plan"))
    who = models.CharField(max_length=80, blank=True)
    subject = models.CharField(max_length=10, choices=Subject.choices)
    products = models.ManyToManyField(Product, blank=True, help_text=_("None = all products"))
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    instrument_kind = models.CharField(max_length=16, choices=Instrument.Kind.choices, blank=True)

    class Rests(models.TextChoices):
        NEVER = "never", _("due all the year")
        WITHOUT_MILK = "without_milk", _("rests while no milk comes in")
        WITHOUT_MAKING = "without_making", _("rests while no cheese is made")

    class IfMissed(models.TextChoices):
        FLAGGED = "flagged", _("flagged, with a reason")
        DEVIATION = "deviation", _("opens a deviation")

    cadence = models.JSONField(help_text=_("See haccp.science.schedule"))
    window_before_s = models.PositiveIntegerField(default=3600)
    grace_s = models.PositiveIntegerField(default=3600)
    rests = models.CharField(
        max_length=16, choices=Rests.choices, default=Rests.NEVER, help_text=_("In which closed periods it is not due")
    )
    if_missed = models.CharField(
        max_length=10,
        choices=IfMissed.choices,
        default=IfMissed.FLAGGED,
        help_text=_("A missed check of a critical control point always opens a deviation"),
    )

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=~models.Q(subject="place") | models.Q(place__isnull=False),
                name="a_place_check_names_its_place",
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def deviates_if_missed(self) -> bool:
        return self.control_point.is_critical or self.if_missed == self.IfMissed.DEVIATION


class Measure(PartOfPlan):
    """One thing to enter at a check: a number, an answer, a text or a recorder's file; several may share a limit."""

    class Kind(models.TextChoices):
        NUMBER = "number", _("number")
        ANSWER = "answer", _("choice")
        TEXT = "text", _("text")
        PHOTO = "photo", _("photograph")
        SCAN = "scan", _("code of the place or batch")
        RECORDER_FILE = "recorder_file", _("recorder file")

    revision = models.ForeignKey(PlanRevision, on_delete=models.CASCADE, related_name="+")
    check_made = models.ForeignKey(Check, on_delete=models.CASCADE, related_name="measures")
    position = models.PositiveSmallIntegerField()
    label = models.CharField(max_length=80)
    kind = models.CharField(max_length=14, choices=Kind.choices)
    quantity = models.CharField(max_length=40, blank=True)
    unit = models.CharField(max_length=16, blank=True, help_text=_("Unit offered first"))
    choices = models.JSONField(default=list, blank=True)
    required = models.BooleanField(default=True)
    limits = models.ManyToManyField(CriticalLimit, blank=True, related_name="measures")

    class Meta:
        ordering: ClassVar = ["position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["check_made", "position"], name="measure_positions_are_unique")
        ]

    def __str__(self) -> str:
        return self.label

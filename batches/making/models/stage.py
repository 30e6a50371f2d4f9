"""What was done at a stage of a make, when, and what was read then."""

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from batches.making.models.make import Make
from batches.making.models.procedure import ProcedureStage
from haccp.premises.models import Instrument, User


class StageMark(models.Model):
    """A moment of a stage. Sealed: a wrong one is corrected by a further mark that names it, with the reason."""

    class What(models.TextChoices):
        BEGUN = "begun", _("begun")
        READ = "read", _("read")
        DONE = "done", _("done")
        SKIPPED = "skipped", _("left out")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    make = models.ForeignKey(Make, on_delete=models.PROTECT, related_name="marks")
    stage = models.ForeignKey(ProcedureStage, on_delete=models.PROTECT, related_name="marks")
    what = models.CharField(max_length=8, choices=What.choices)
    at = models.DateTimeField()
    note = models.TextField(blank=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    reason = models.TextField(blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["at", "recorded_at"]
        indexes: ClassVar = [models.Index(fields=["make", "stage"])]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(corrects__isnull=True) | ~models.Q(reason=""), name="a_corrected_mark_says_why"
            )
        ]

    def __str__(self) -> str:
        return f"{self.stage} {self.get_what_display()}"


class StageReading(models.Model):
    """value_si in the SI unit of the quantity that `what` is. ruling, said: what the stage's limits said of it, ""
    where the stage asks nothing. unfit: why the instrument does not count. electrode: the slope and offset that a pH
    rests on, in words, where the sheet has looked it up."""

    electrode = ""

    class What(models.TextChoices):
        TEMPERATURE = "temperature", _("temperature")
        PH = "ph", _("pH")
        ACIDITY = "titratable_acidity", _("titratable acidity")
        CURD = "curd_mass", _("weight of the curd")
        PRESS = "press_mass", _("weight on the press")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    mark = models.ForeignKey(StageMark, on_delete=models.PROTECT, related_name="readings")
    what = models.CharField(max_length=20, choices=What.choices)
    value_si = models.FloatField()
    typed_text = models.CharField(max_length=80)
    typed_unit = models.CharField(max_length=16)
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    expanded_uncertainty = models.FloatField(default=0.0)
    unfit = models.TextField(blank=True)
    ruling = models.CharField(max_length=10, blank=True)
    said = models.TextField(blank=True)

    class Meta:
        ordering: ClassVar = ["mark__at", "what"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["mark", "what"], name="one_reading_of_a_kind_at_a_mark")
        ]

    def __str__(self) -> str:
        return f"{self.get_what_display()} {self.typed_text}"

    @property
    def quantity(self) -> str:
        return "mass" if self.what in (self.What.CURD, self.What.PRESS) else self.what

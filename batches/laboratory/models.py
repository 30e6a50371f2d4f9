"""Samples sent to a laboratory, what is asked of them, and what the laboratory answered.

Every row is sealed. A result is corrected by a further one that names the one it replaces; the last one counts and
all are shown.
"""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.deviations.models import Deviation
from haccp.lots.models import Lot
from haccp.plan.models import ControlPoint
from haccp.premises.models import Place, Premises, User
from haccp.science.ruling import Ruling

# What swabs are examined for: the report may then name the species.
LISTERIA_SPECIES = "Listeria spp."


class SampleQuerySet(models.QuerySet["Sample"]):
    def for_premises(self, premises: Premises) -> "SampleQuerySet":
        return self.filter(premises=premises)


class Sample(models.Model):
    """Of a lot (milk, ingredient, batch) or of a place. verifies: the control point whose working it shows."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="samples")
    code = models.CharField(max_length=24)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="samples")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="samples")
    spot = models.CharField(max_length=120, blank=True, help_text=_("Where in the place, or from which part"))
    laboratory = models.CharField(max_length=120)
    verifies = models.ForeignKey(ControlPoint, on_delete=models.PROTECT, related_name="+")
    taken_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)
    temperature_c = models.FloatField(null=True, blank=True, help_text=_("Of the sample when it was sent, °C"))
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    objects = SampleQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-taken_at", "-recorded_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["premises", "code"], name="sample_codes_are_unique"),
            models.CheckConstraint(
                condition=Q(lot__isnull=False, place__isnull=True) | Q(lot__isnull=True, place__isnull=False),
                name="a_sample_is_of_a_lot_or_of_a_place",
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["premises", "-taken_at"])]

    def __str__(self) -> str:
        return self.code

    @property
    def of(self) -> str:
        """What it was taken of, in a word or two."""
        return self.lot.code if self.lot is not None else self.place.name if self.place is not None else ""


class SampleTest(models.Model):
    """One thing asked of a sample.

    A count is judged by n, c, m, M (M null: two classes), an absence by n units of absent_in, a quantity (moisture,
    salt, pH, water activity) is not judged here. Counts without m are kept for their trend. source: the clause that
    sets the criterion, with its key in the library where it came from there.
    """

    class Kind(models.TextChoices):
        COUNT = "count", _("count")
        ABSENCE = "absence", _("presence or absence")
        QUANTITY = "quantity", _("measured value")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    sample = models.ForeignKey(Sample, on_delete=models.PROTECT, related_name="tests")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=10, choices=Kind.choices)
    parameter = models.CharField(max_length=120, help_text=_("The organism, or the key of a quantity"))
    n = models.PositiveSmallIntegerField(default=1)
    c = models.PositiveSmallIntegerField(default=0)
    m = models.FloatField(null=True, blank=True)
    largest = models.FloatField(null=True, blank=True, help_text="M")
    unit = models.CharField(max_length=16, blank=True)
    absent_in = models.CharField(max_length=16, blank=True)
    criterion = models.CharField(max_length=80, blank=True, help_text=_("Key of the value in the library"))
    source = models.TextField(blank=True)
    fewer_because = models.TextField(blank=True, help_text=_("Why fewer units than the criterion asks for"))

    class Meta:
        ordering: ClassVar = ["position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["sample", "position"], name="sample_test_positions_are_unique"),
            models.CheckConstraint(condition=Q(n__gte=1), name="a_test_takes_a_unit"),
        ]

    def __str__(self) -> str:
        return self.parameter

    @property
    def is_judged(self) -> bool:
        return self.kind == self.Kind.ABSENCE or (self.kind == self.Kind.COUNT and self.m is not None)


class TestResult(models.Model):
    """What the laboratory reported of one test: values as typed, one a unit, in order.

    ruling: "" where nothing judges it. deviation: the one that it opened.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    test = models.ForeignKey(SampleTest, on_delete=models.PROTECT, related_name="results")
    values = models.JSONField(help_text=_("As typed, one for each unit"))
    unit = models.CharField(max_length=16, blank=True)
    method = models.CharField(max_length=120, blank=True)
    report_number = models.CharField(max_length=80, blank=True)
    reported_at = models.DateTimeField()
    ruling = models.CharField(max_length=10, blank=True, choices=[(r.value, r.value) for r in Ruling])
    code = models.CharField(max_length=60, blank=True)
    reason = models.TextField(blank=True)
    facts = models.JSONField(default=dict)
    deviation = models.OneToOneField(
        Deviation, on_delete=models.PROTECT, null=True, blank=True, related_name="test_result"
    )
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by")
    replace_reason = models.TextField(blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["recorded_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["test"], condition=Q(replaces__isnull=True), name="a_test_has_one_first_result"
            ),
            models.CheckConstraint(
                condition=Q(replaces__isnull=True) | ~Q(replace_reason=""), name="a_replaced_result_has_a_reason"
            ),
        ]

    def __str__(self) -> str:
        return ", ".join(self.values)

    @property
    def is_satisfied(self) -> bool:
        return not self.ruling or Ruling(self.ruling).is_satisfied


def newest(results: list[TestResult]) -> TestResult | None:
    """The one that nobody replaced."""
    replaced = {one.replaces_id for one in results}
    return next((one for one in results if one.pk not in replaced), None)

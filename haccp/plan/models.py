"""The food-safety plan: revisions, steps, hazards, control points, limits, and the checks that watch them."""

import uuid
from datetime import datetime
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.ledger.models import Signature
from haccp.premises.models import Instrument, Place, Premises, User
from haccp.science.limit import Comparator, Limit


class MilkSpecies(models.TextChoices):
    COW = "cow", _("cow")
    GOAT = "goat", _("goat")
    EWE = "ewe", _("ewe")
    BUFFALO = "buffalo", _("buffalo")


class MilkTreatment(models.TextChoices):
    RAW = "raw", _("raw")
    THERMISED = "thermised", _("thermised")
    PASTEURISED = "pasteurised", _("pasteurised")


class Product(models.Model):
    """A cheese, by its identity; what the plan says of it belongs to a revision."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="products")
    name = models.CharField(max_length=120)
    code = models.CharField(max_length=8, help_text=_("Start of its batch codes"))
    species = models.CharField(max_length=12, choices=MilkSpecies.choices)
    treatment = models.CharField(max_length=12, choices=MilkTreatment.choices)
    family = models.CharField(max_length=60, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["premises", "name"], name="product_names_are_unique"),
            models.UniqueConstraint(fields=["premises", "code"], name="product_codes_are_unique"),
        ]

    def __str__(self) -> str:
        return self.name


class RevisionQuerySet(models.QuerySet["PlanRevision"]):
    def for_premises(self, premises: Premises) -> "RevisionQuerySet":
        return self.filter(premises=premises)

    def approved(self) -> "RevisionQuerySet":
        return self.filter(approval__isnull=False)

    def in_force(self, at: datetime) -> "RevisionQuerySet":
        """Newest first: the first row is the revision in force at that moment."""
        return self.approved().filter(effective_from__lte=at).order_by("-effective_from", "-number")


class PlanRevision(models.Model):
    """One revision of a premises' plan. Draft until it carries an approval signature, frozen from then on."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="plan_revisions")
    number = models.PositiveIntegerField()
    scope_statement = models.TextField(blank=True)
    change_summary = models.TextField(blank=True)
    drafted_at = models.DateTimeField(default=timezone.now)
    drafted_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    effective_from = models.DateTimeField(null=True, blank=True)
    approval = models.OneToOneField(Signature, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    objects = RevisionQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["premises", "number"], name="revision_numbers_are_unique"),
            models.CheckConstraint(
                condition=models.Q(approval__isnull=True) | models.Q(effective_from__isnull=False),
                name="approved_revision_has_a_start",
            ),
        ]

    def __str__(self) -> str:
        return f"Revision {self.number}"

    @property
    def is_approved(self) -> bool:
        return self.approval_id is not None


class ProcessStep(models.Model):
    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    revision = models.ForeignKey(PlanRevision, on_delete=models.CASCADE, related_name="steps")
    position = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=80)
    description = models.TextField(blank=True)
    products = models.ManyToManyField(Product, blank=True, help_text=_("None = all products"))

    class Meta:
        ordering: ClassVar = ["position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["revision", "position"], name="step_positions_are_unique")
        ]

    def __str__(self) -> str:
        return self.name


class Hazard(models.Model):
    class Kind(models.TextChoices):
        BIOLOGICAL = "biological", _("biological")
        CHEMICAL = "chemical", _("chemical")
        PHYSICAL = "physical", _("physical")
        ALLERGEN = "allergen", _("allergen")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    revision = models.ForeignKey(PlanRevision, on_delete=models.CASCADE, related_name="hazards")
    step = models.ForeignKey(ProcessStep, on_delete=models.CASCADE, related_name="hazards")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    name = models.CharField(max_length=160)
    likelihood = models.PositiveSmallIntegerField(default=1)
    severity = models.PositiveSmallIntegerField(default=1)
    significant = models.BooleanField()
    justification = models.TextField()
    control_measure = models.TextField()

    class Meta:
        ordering: ClassVar = ["step__position", "name"]

    def __str__(self) -> str:
        return self.name


class ControlPoint(models.Model):
    """A critical control point, or a prerequisite programme, with what the plan says to do when it fails."""

    class Kind(models.TextChoices):
        CCP = "ccp", _("critical control point")
        PREREQUISITE = "prerequisite", _("prerequisite programme")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    revision = models.ForeignKey(PlanRevision, on_delete=models.CASCADE, related_name="control_points")
    step = models.ForeignKey(
        ProcessStep, on_delete=models.CASCADE, null=True, blank=True, related_name="control_points"
    )
    kind = models.CharField(max_length=14, choices=Kind.choices)
    code = models.CharField(max_length=12, help_text=_("CCP 1, PRP 3"))
    name = models.CharField(max_length=120)
    programme = models.CharField(max_length=40, blank=True, help_text=_("cleaning, pests, calibration ..."))
    hazards = models.ManyToManyField(Hazard, blank=True, related_name="control_points")
    corrective_action = models.TextField(help_text=_("What the plan prescribes when the limit is not met"))
    verification = models.TextField(blank=True)

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["revision", "code"], name="control_point_codes_are_unique")
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    @property
    def is_critical(self) -> bool:
        return self.kind == self.Kind.CCP


class CriticalLimit(models.Model):
    """A limit as data: what is judged, against which value, in which way, and on whose authority."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    revision = models.ForeignKey(PlanRevision, on_delete=models.CASCADE, related_name="limits")
    control_point = models.ForeignKey(ControlPoint, on_delete=models.CASCADE, related_name="limits")
    statement = models.CharField(max_length=240, help_text=_("The limit in words, as the CCP sheet prints it"))
    quantity = models.CharField(max_length=40)
    evaluator = models.CharField(max_length=40)
    comparator = models.CharField(max_length=12, choices=[(c.value, c.value.replace("_", " ")) for c in Comparator])
    low = models.FloatField(null=True, blank=True)
    high = models.FloatField(null=True, blank=True)
    target_low = models.FloatField(null=True, blank=True)
    target_high = models.FloatField(null=True, blank=True)
    accepted = models.JSONField(default=list, blank=True)
    parameters = models.JSONField(default=dict, blank=True)
    unit = models.CharField(max_length=16, blank=True)
    source_document = models.CharField(max_length=160, blank=True)
    source_clause = models.CharField(max_length=160, blank=True)
    products = models.ManyToManyField(Product, blank=True, help_text=_("None = all products"))

    class Meta:
        ordering: ClassVar = ["control_point__code", "statement"]

    def __str__(self) -> str:
        return self.statement

    def as_limit(self) -> Limit:
        return Limit(
            quantity=self.quantity,
            evaluator=self.evaluator,
            comparator=Comparator(self.comparator),
            low=self.low,
            high=self.high,
            target_low=self.target_low,
            target_high=self.target_high,
            accepted=tuple(self.accepted),
            parameters=dict(self.parameters),
            unit=self.unit,
        )


class Check(models.Model):
    """Monitoring: what is looked at, how, when, where, by whom. It falls due by its cadence (science.schedule)."""

    class Subject(models.TextChoices):
        PREMISES = "premises", _("the dairy")
        PLACE = "place", _("a place")
        MILK = "milk", _("each milk lot")
        BATCH = "batch", _("each batch")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    revision = models.ForeignKey(PlanRevision, on_delete=models.CASCADE, related_name="checks")
    control_point = models.ForeignKey(ControlPoint, on_delete=models.CASCADE, related_name="checks")
    name = models.CharField(max_length=120)
    how = models.TextField(blank=True, help_text=_("The method, in the words of the plan"))
    who = models.CharField(max_length=80, blank=True)
    subject = models.CharField(max_length=10, choices=Subject.choices)
    products = models.ManyToManyField(Product, blank=True, help_text=_("None = all products"))
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    instrument_kind = models.CharField(max_length=16, choices=Instrument.Kind.choices, blank=True)
    cadence = models.JSONField(help_text=_("See haccp.science.schedule"))
    window_before_s = models.PositiveIntegerField(default=3600)
    grace_s = models.PositiveIntegerField(default=3600)

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


class Measure(models.Model):
    """One thing to enter at a check: a number, an answer, a text or a recorder's file; several may share a limit."""

    class Kind(models.TextChoices):
        NUMBER = "number", _("number")
        ANSWER = "answer", _("choice")
        TEXT = "text", _("text")
        RECORDER_FILE = "recorder_file", _("recorder file")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
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

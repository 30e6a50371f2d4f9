"""What a record can be about: lots, what happened to them, what they were made from, and their holds."""

import uuid
from datetime import datetime
from typing import ClassVar

from django.db import models
from django.db.models import Exists, OuterRef
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from haccp.plan.models import PlanRevision, Product
from haccp.premises.models import Place, Premises, User


class LotQuerySet(models.QuerySet["Lot"]):
    def for_premises(self, premises: Premises) -> "LotQuerySet":
        return self.filter(premises=premises)

    def batches(self) -> "LotQuerySet":
        return self.filter(kind=Lot.Kind.BATCH)

    def with_hold(self) -> "LotQuerySet":
        """Adds is_held: whether any hold stands on the lot, or on one at another premises that it came from."""
        here = Hold.objects.standing().filter(lot=OuterRef("pk"))
        there = Hold.objects.standing().filter(lot__sent_on__lot=OuterRef("pk"))
        return self.annotate(is_held=Exists(here) | Exists(there))

    def cheese(self) -> "LotQuerySet":
        """What lies in stock: made here, or at another premises of the producer."""
        return self.filter(kind__in=(Lot.Kind.BATCH, Lot.Kind.RECEIVED))

    def begun_between(self, start: datetime, end: datetime) -> "LotQuerySet":
        return self.filter(begun_at__gte=start, begun_at__lt=end)


class Lot(models.Model):
    """A quantity that is traced as one: a milk lot, an ingredient lot, a batch of cheese, its whey, a brine.

    A brine goes into a batch without being used up: the link's amount is what the batch lay in.
    """

    class Kind(models.TextChoices):
        MILK = "milk", _("milk lot")
        INGREDIENT = "ingredient", _("ingredient lot")
        BATCH = "batch", _("batch")
        BY_PRODUCT = "by_product", _("by-product")
        BRINE = "brine", _("brine")
        RECEIVED = "received", _("cheese from our other premises")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="lots")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    code = models.CharField(max_length=40)
    product = models.ForeignKey(Product, on_delete=models.PROTECT, null=True, blank=True, related_name="lots")
    revision = models.ForeignKey(PlanRevision, on_delete=models.PROTECT, related_name="+")
    begun_at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    objects = LotQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-begun_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["premises", "code"],
                name="lot_codes_are_unique",
                violation_error_message=_("There is already a lot with this code."),
            ),
            models.CheckConstraint(
                condition=~models.Q(kind="batch") | models.Q(product__isnull=False),
                name="a_batch_has_a_product",
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["premises", "kind", "-begun_at"])]

    def __str__(self) -> str:
        return self.code


class StandingEvents(models.Manager["LotEvent"]):
    """Events that no later row corrects or takes back: what happened, as far as is known."""

    def get_queryset(self) -> "models.QuerySet[LotEvent]":
        return super().get_queryset().filter(corrected_by__isnull=True, withdrawn=False)


class LotEvent(models.Model):
    """Something that happened to a lot: milk received, make started, starter added, placed in a room ...

    Sealed: one whose time was wrong is corrected by a further event of its kind that names it, with the reason;
    one that never happened by one that is withdrawn itself.
    objects, and so lot.events: those that stand; every: the corrected and the withdrawn ones too.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=40)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    occurred_at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    note = models.TextField(blank=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    reason = models.TextField(blank=True)
    withdrawn = models.BooleanField(default=False, help_text=_("The event that it corrects never happened"))

    objects = StandingEvents()
    every = models.Manager["LotEvent"]()

    class Meta:
        ordering: ClassVar = ["occurred_at"]
        indexes: ClassVar = [
            models.Index(fields=["place", "kind", "occurred_at"]),
            models.Index(fields=["recorded_at"]),
        ]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(corrects__isnull=True) | ~models.Q(reason=""), name="a_corrected_event_says_why"
            ),
            models.CheckConstraint(
                condition=models.Q(withdrawn=False) | models.Q(corrects__isnull=False),
                name="a_withdrawn_event_names_another",
            ),
        ]

    def __str__(self) -> str:
        return self.kind


class LotLink(models.Model):
    """parent went into child; amount is SI in the unit named (L, kg, pc). A lot may go in twice, as salt does."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    parent = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="links_out")
    child = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="links_in")
    amount = models.FloatField()
    unit = models.CharField(max_length=4)
    recorded_at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=~models.Q(parent=models.F("child")), name="no_lot_of_itself"),
            models.CheckConstraint(condition=models.Q(amount__gt=0), name="a_link_carries_something"),
        ]

    def __str__(self) -> str:
        return f"{self.parent} → {self.child}"


class LotOrigin(models.Model):
    """A lot that came, as it was, from a lot at another premises of the producer. steps: 1 for the one it came from, 2
    for the one that this came from: every one has its row, so that what holds any of them is found in one read."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="origins")
    origin = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="sent_on")
    steps = models.PositiveSmallIntegerField()

    class Meta:
        ordering: ClassVar = ["steps"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["lot", "steps"], name="a_lot_came_from_one_other"),
            models.CheckConstraint(condition=~models.Q(lot=models.F("origin")), name="no_lot_came_from_itself"),
        ]

    def __str__(self) -> str:
        return f"{self.origin} → {self.lot}"


class HoldQuerySet(models.QuerySet["Hold"]):
    def standing(self) -> "HoldQuerySet":
        return self.filter(lift__isnull=True)


class Hold(models.Model):
    """A lot that may not leave. cause names what placed it ("deviation:<id>"), so one cause holds a lot once."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="holds")
    cause = models.CharField(max_length=80)
    reason = models.TextField()
    placed_at = models.DateTimeField(default=timezone.now)

    objects = HoldQuerySet.as_manager()

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["lot", "cause"], name="one_hold_per_lot_and_cause")]
        indexes: ClassVar = [models.Index(fields=["cause"])]

    def __str__(self) -> str:
        return self.reason


class HoldLift(models.Model):
    """The end of a hold, with its reason. A hold without one stands."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    hold = models.OneToOneField(Hold, on_delete=models.PROTECT, related_name="lift")
    reason = models.TextField()
    lifted_at = models.DateTimeField(default=timezone.now)
    lifted_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return self.reason


class RevisionMove(models.Model):
    """A lot put under a later revision than the one it stood under, with the reason. The newest one counts."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="revision_moves")
    from_revision = models.ForeignKey(PlanRevision, on_delete=models.PROTECT, related_name="+")
    to_revision = models.ForeignKey(PlanRevision, on_delete=models.PROTECT, related_name="+")
    reason = models.TextField()
    moved_at = models.DateTimeField()
    moved_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["moved_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["lot", "from_revision"], name="a_lot_leaves_a_revision_once"),
        ]

    def __str__(self) -> str:
        return f"{self.lot}: {self.from_revision} → {self.to_revision}"

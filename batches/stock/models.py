"""What of a batch lies in stock, and where it went: wheels, cuts and packs, customers, dispatches, the counter.

Items and what happens to them are sealed. An item ends once: a database constraint decides between two people who
dispatch the same wheel at the same instant. Customers' details may change and are not sealed, so that they can be
forgotten.
"""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.utils.translation import gettext_lazy as _

from haccp.lots.models import Lot
from haccp.premises.models import Place, Premises, User


class Customer(models.Model):
    """Whom cheese is sold to by name, with whom to call in a recall. is_ours: another premises of the producer;
    own_premises: which, where it keeps its records here too."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="customers")
    name = models.CharField(max_length=160)
    contact = models.CharField(max_length=120, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    address = models.TextField(blank=True)
    gln = models.CharField(max_length=13, blank=True)
    is_ours = models.BooleanField(default=False)
    own_premises = models.ForeignKey(Premises, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["premises", "name"],
                name="customer_names_are_unique",
                violation_error_message=_("There is already a customer of this name."),
            ),
            models.UniqueConstraint(fields=["premises", "own_premises"], name="own_premises_is_one_customer"),
            models.CheckConstraint(condition=~Q(phone="") | ~Q(email=""), name="a_customer_can_be_reached"),
        ]

    def __str__(self) -> str:
        return self.name


class Dispatch(models.Model):
    """Items that left together for one customer, with the paper that went along."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="dispatches")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="dispatches")
    number = models.PositiveIntegerField()
    document_type = models.CharField(max_length=40)
    document_number = models.CharField(max_length=60)
    dispatched_at = models.DateTimeField()
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-dispatched_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["premises", "number"], name="dispatch_numbers_are_unique")
        ]
        indexes: ClassVar = [models.Index(fields=["premises", "-dispatched_at"])]

    def __str__(self) -> str:
        return f"dispatch {self.number}"


class Transfer(models.Model):
    """A dispatch that goes to another premises of the producer, where it is to arrive as stock."""

    dispatch = models.OneToOneField(Dispatch, on_delete=models.PROTECT, primary_key=True, related_name="transfer")
    receiver = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="transfers_in")

    def __str__(self) -> str:
        return f"{self.dispatch} to {self.receiver}"


class Arrival(models.Model):
    """What of a transfer arrived. One for each: what left arrives once."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    premises = models.ForeignKey(Premises, on_delete=models.PROTECT, related_name="arrivals")
    dispatch = models.OneToOneField(Dispatch, on_delete=models.PROTECT, related_name="arrival")
    note = models.TextField(blank=True)
    arrived_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-arrived_at"]

    def __str__(self) -> str:
        return f"arrival of {self.dispatch}"


class ArrivedLot(models.Model):
    """A lot in an arrival: sent_* as they left, pieces and weight_kg as they came; the difference is unexplained.

    cheese and origin_code: what it was called where it came from.
    """

    lot = models.OneToOneField(Lot, on_delete=models.PROTECT, primary_key=True, related_name="arrived")
    arrival = models.ForeignKey(Arrival, on_delete=models.PROTECT, related_name="lots")
    cheese = models.CharField(max_length=120)
    origin_code = models.CharField(max_length=40)
    sent_pieces = models.PositiveIntegerField()
    sent_kg = models.FloatField()
    pieces = models.PositiveIntegerField()
    weight_kg = models.FloatField()

    class Meta:
        ordering: ClassVar = ["origin_code"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(pieces__lte=models.F("sent_pieces")), name="no_more_arrives_than_left")
        ]

    def __str__(self) -> str:
        return f"{self.cheese} {self.origin_code}"

    @property
    def missing_pieces(self) -> int:
        return self.sent_pieces - self.pieces

    @property
    def missing_kg(self) -> float:
        return self.sent_kg - self.weight_kg


class ItemQuerySet(models.QuerySet["Item"]):
    def for_premises(self, premises: Premises) -> "ItemQuerySet":
        return self.filter(lot__premises=premises)

    def in_stock(self) -> "ItemQuerySet":
        return self.exclude(Exists(ItemEvent.objects.filter(item=OuterRef("pk"), ends=True)))


class Item(models.Model):
    """A wheel, a cut or a pack. weight_kg: when it came into stock.

    parent: what it was cut from, or the piece that left and came back as this one.
    """

    class Kind(models.TextChoices):
        WHEEL = "wheel", _("wheel")
        CUT = "cut", _("cut")
        PACK = "pack", _("pack")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="items")
    number = models.PositiveIntegerField()
    kind = models.CharField(max_length=8, choices=Kind.choices)
    parent = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="cuts")
    weight_kg = models.FloatField()
    typed_weight = models.CharField(max_length=40)
    typed_unit = models.CharField(max_length=8)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    best_before = models.DateField(null=True, blank=True)
    entered_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    objects = ItemQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["lot", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["lot", "number"], name="item_numbers_are_unique_in_a_lot"),
            models.CheckConstraint(condition=Q(weight_kg__gt=0), name="an_item_weighs_something"),
        ]

    def __str__(self) -> str:
        return f"{self.lot.code}/{self.number}"


class ItemEvent(models.Model):
    """What happened to an item. ends: it is in stock no more, whole; that happens once.

    weight_kg: weighed: what it weighs now; sample, loss: what was taken; where it ends: what left.
    """

    class Kind(models.TextChoices):
        WEIGHED = "weighed", _("weighed again")
        MOVED = "moved", _("moved to")
        SAMPLE = "sample", _("sample taken")
        LOSS = "loss", _("lost or destroyed")
        CUT_UP = "cut_up", _("cut up")
        TO_COUNTER = "to_counter", _("opened at the counter")
        REWORKED = "reworked", _("worked into another batch")
        DISPATCHED = "dispatched", _("dispatched")
        RETURNED = "returned", _("came back")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    ends = models.BooleanField(default=False)
    weight_kg = models.FloatField(default=0.0)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    dispatch = models.ForeignKey(Dispatch, on_delete=models.PROTECT, null=True, blank=True, related_name="events")
    note = models.TextField(blank=True)
    occurred_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["occurred_at", "recorded_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["item"],
                condition=Q(ends=True),
                name="an_item_leaves_once",
                violation_error_message=_("Somebody else was first: it is not in stock any more."),
            ),
            models.CheckConstraint(
                condition=Q(kind="dispatched", dispatch__isnull=False)
                | ~Q(kind="dispatched") & Q(dispatch__isnull=True),
                name="what_is_dispatched_names_its_dispatch",
            ),
            models.CheckConstraint(condition=Q(weight_kg__gte=0), name="an_item_event_weighs_no_less_than_nothing"),
        ]

    def __str__(self) -> str:
        return self.kind


class CounterSale(models.Model):
    """A day's total of one batch over the counter, out of the items opened there."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="counter_sales")
    day = models.DateField()
    weight_kg = models.FloatField()
    typed_weight = models.CharField(max_length=40)
    typed_unit = models.CharField(max_length=8)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-day"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["lot", "day"], name="one_counter_total_per_batch_and_day"),
            models.CheckConstraint(condition=Q(weight_kg__gt=0), name="a_counter_total_is_more_than_nothing"),
        ]

    def __str__(self) -> str:
        return f"{self.lot} {self.day}"


class TradeNumber(models.Model):
    """The GTIN that a product is sold under, so that its label can carry it."""

    product = models.OneToOneField(
        "plan.Product", on_delete=models.CASCADE, primary_key=True, related_name="trade_number"
    )
    gtin = models.CharField(max_length=14)

    def __str__(self) -> str:
        return self.gtin


class PartyNumber(models.Model):
    """The premises' GLN and GS1 company prefix: labels of rooms and instruments carry them."""

    premises = models.OneToOneField(Premises, on_delete=models.CASCADE, primary_key=True, related_name="party_number")
    gln = models.CharField(max_length=13)
    company_prefix = models.CharField(max_length=12)

    def __str__(self) -> str:
        return self.gln

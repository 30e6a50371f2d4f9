"""How a recall looks in the API."""

from typing import Any, TypedDict

from rest_framework import serializers

from batches.recall.models import Recall, RecallMark
from batches.stock.api import CustomerShape
from batches.tracing.api_shapes import BalanceShape, SentOnShape


class RecallMarkShape(serializers.ModelSerializer[RecallMark]):
    elapsed_s = serializers.SerializerMethodField(help_text="Since the clock was started")
    by = serializers.StringRelatedField[Any]()

    class Meta:
        model = RecallMark
        fields = ("id", "kind", "at", "elapsed_s", "by", "lot", "reach", "customer", "note", "figures")

    def get_elapsed_s(self, mark: RecallMark) -> float:
        return mark.elapsed.total_seconds()


class RecallShape(serializers.ModelSerializer[Recall]):
    started_by = serializers.StringRelatedField[Any]()
    marks = RecallMarkShape(many=True, read_only=True, help_text="What was done so far, each with its moment")

    class Meta:
        model = Recall
        fields = ("id", "kind", "reason", "repeat_after_days", "started_at", "started_by", "marks")


class PlaceKg(TypedDict):
    place: str
    weight_kg: float


class ReachedLotShape(serializers.Serializer[Any]):
    """A lot that the recall reaches: how much of it there is, and where that is now."""

    lot = serializers.UUIDField(source="lot.pk")
    code = serializers.CharField(source="lot.code")
    is_held = serializers.BooleanField()
    in_house_kg = serializers.FloatField()
    where = serializers.SerializerMethodField()
    at_counter_kg = serializers.FloatField()
    sold_at_counter_kg = serializers.FloatField()
    dispatched_kg = serializers.FloatField()
    balance = BalanceShape()

    def get_where(self, touched: Any) -> list[PlaceKg]:
        return [{"place": place, "weight_kg": kg} for place, kg in touched.where]


class ToCallShape(serializers.Serializer[Any]):
    """A customer with how to reach them, what was sent to them, and when they were reached."""

    customer = CustomerShape()
    pieces = serializers.IntegerField()
    weight_kg = serializers.FloatField()
    sent = SentOnShape(many=True)
    reached = RecallMarkShape(allow_null=True, help_text="null while nobody has reached them")


class RecallDetailShape(serializers.Serializer[Any]):
    """clock_s: since it was started, until it was finished or now. What it reaches is computed from what is recorded
    now; the figures of a mark are those of its moment."""

    recall = RecallShape()
    clock_s = serializers.FloatField()
    is_finished = serializers.BooleanField()
    figures = serializers.JSONField(allow_null=True, help_text="null before a lot was chosen")
    lots = ReachedLotShape(many=True)
    not_held = serializers.ListField(
        child=serializers.CharField(), help_text="Codes of lots in house and not on hold: what to stop now"
    )
    customers = ToCallShape(many=True)


class RecallNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    kind = serializers.ChoiceField(Recall.Kind.choices)
    reason = serializers.CharField(max_length=5000, allow_blank=True)
    repeat_after_days = serializers.IntegerField(default=365, help_text="0: never")


class ChosenNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    lot = serializers.UUIDField()
    reach = serializers.ChoiceField(RecallMark.Reach.choices, default=RecallMark.Reach.FORWARD)


class ReachedNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    customer = serializers.UUIDField()
    note = serializers.CharField(
        max_length=5000, allow_blank=True, default="", help_text="Who was told, and what they answered"
    )


class FinishedNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    note = serializers.CharField(
        max_length=5000, allow_blank=True, help_text="What went well, and what is to be done better"
    )

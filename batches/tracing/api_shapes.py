"""How a trace looks in the API."""

from typing import Any

from rest_framework import serializers

from batches.tracing.graph import Sent
from batches.tracing.picture import lot_words
from haccp.lots.models import Lot


class TracedLotShape(serializers.ModelSerializer[Lot]):
    what = serializers.SerializerMethodField(help_text="The cheese, the milk, the ingredient, in words")
    premises_name = serializers.CharField(source="premises.name", read_only=True)
    is_held = serializers.BooleanField(read_only=True)

    class Meta:
        model = Lot
        fields = ("id", "code", "kind", "what", "premises_name", "begun_at", "is_held")

    def get_what(self, lot: Lot) -> str:
        return lot_words(lot)


class LinkStepShape(serializers.Serializer[Any]):
    lot = serializers.UUIDField(source="lot.pk")
    code = serializers.CharField(source="lot.code")
    amount = serializers.FloatField()
    unit = serializers.CharField(help_text="L, kg or pc")


class OutletShape(serializers.Serializer[Any]):
    words = serializers.CharField(source="label", help_text="Where it went")
    amount = serializers.FloatField()
    lot = serializers.UUIDField(source="lot.pk", allow_null=True, default=None)


class BalanceShape(serializers.Serializer[Any]):
    """The two sides of a mass balance, in `unit`."""

    lot = serializers.UUIDField(source="lot.pk")
    unit = serializers.CharField(help_text="L, kg or pc")
    there = serializers.FloatField(allow_null=True, help_text="null: nobody recorded how much there was")
    outlets = OutletShape(many=True)
    accounted = serializers.FloatField()
    unexplained = serializers.FloatField(
        allow_null=True, help_text="Above zero: gone nobody knows where. Below: more went than there was"
    )
    is_balanced = serializers.BooleanField()


class SentOnShape(serializers.Serializer[Any]):
    dispatch = serializers.UUIDField(source="dispatch.pk")
    customer = serializers.UUIDField(source="dispatch.customer_id")
    customer_name = serializers.CharField(source="dispatch.customer.name")
    document = serializers.SerializerMethodField()
    dispatched_at = serializers.DateTimeField(source="dispatch.dispatched_at")
    lot = serializers.UUIDField(source="lot.pk")
    pieces = serializers.IntegerField()
    weight_kg = serializers.FloatField()

    def get_document(self, sent: Sent) -> str:
        return f"{sent.dispatch.document_type} {sent.dispatch.document_number}"


class LinkShape(serializers.Serializer[Any]):
    """Some of one lot went into another."""

    from_lot = serializers.UUIDField()
    into_lot = serializers.UUIDField()
    amount = serializers.FloatField()
    unit = serializers.CharField()


class LotTraceShape(serializers.Serializer[Any]):
    lot = TracedLotShape()
    back = LinkStepShape(many=True, help_text="One step back: what went into it")
    forward = LinkStepShape(many=True, help_text="One step forward: what was made of it")
    ancestors = TracedLotShape(many=True, help_text="All the way back")
    descendants = TracedLotShape(many=True, help_text="All the way forward")
    links = LinkShape(many=True, help_text="Among all of these lots")
    balances = BalanceShape(many=True, help_text="Of each of these lots")
    came_as = serializers.ListField(
        child=serializers.CharField(),
        help_text="Codes of lots at other premises of the producer that it came from and the person may not follow",
    )
    sent = SentOnShape(many=True, help_text="Where any of it was sent to")

"""How deviations look in the API."""

from typing import Any

from rest_framework import serializers

from haccp.deviations.models import CorrectiveStep, Deviation, ImplicatedLot
from haccp.premises.api_fields import Moment


class ImplicatedShape(serializers.ModelSerializer[ImplicatedLot]):
    code = serializers.CharField(source="lot.code", read_only=True)

    class Meta:
        model = ImplicatedLot
        fields = ("lot", "code", "why")


class StepShape(serializers.ModelSerializer[CorrectiveStep]):
    recorded_by = serializers.StringRelatedField[Any]()

    class Meta:
        model = CorrectiveStep
        fields = ("id", "kind", "text", "lot", "disposition", "recorded_at", "recorded_by")


class DeviationShape(serializers.ModelSerializer[Deviation]):
    reference = serializers.CharField(read_only=True)
    control_point = serializers.StringRelatedField[Any]()
    is_open = serializers.SerializerMethodField()

    class Meta:
        model = Deviation
        fields = (
            "id",
            "reference",
            "cause",
            "control_point",
            "summary",
            "occurred_at",
            "opened_at",
            "exposed_from",
            "is_open",
        )

    def get_is_open(self, deviation: Deviation) -> bool:
        return not hasattr(deviation, "closure")


class DeviationDetailShape(serializers.Serializer[Any]):
    deviation = DeviationShape()
    prescribed = serializers.CharField(help_text="The corrective action that the plan prescribes")
    implicated = ImplicatedShape(many=True)
    steps = StepShape(many=True)
    missing = serializers.ListField(child=serializers.CharField(), help_text="What must be recorded before closing")
    content_sha256 = serializers.CharField(help_text="What a closing signature would bind to")


class DeviationNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    control_point = serializers.UUIDField()
    summary = serializers.CharField(max_length=5000, allow_blank=True)
    occurred_at = Moment()
    lots = serializers.ListField(child=serializers.UUIDField(), default=list)


class StepNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    kind = serializers.ChoiceField(CorrectiveStep.Kind.choices)
    text = serializers.CharField(max_length=5000, allow_blank=True)
    lot = serializers.UUIDField(allow_null=True, default=None)
    disposition = serializers.ChoiceField(CorrectiveStep.Disposition.choices, allow_blank=True, default="")


class ClosureNewShape(serializers.Serializer[Any]):
    password = serializers.CharField(write_only=True)
    seen_sha256 = serializers.CharField(max_length=64, help_text="content_sha256 of the deviation as it was read")

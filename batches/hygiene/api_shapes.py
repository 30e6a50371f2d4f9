"""How cleanings, chemicals and swabs look in the API."""

from typing import Any, ClassVar

from rest_framework import serializers

from batches.hygiene.models import (
    Chemical,
    ChemicalLot,
    Cleaning,
    Method,
    MethodStep,
    Rota,
    Swab,
    SwabPoint,
    SwabResult,
)
from haccp.checks.api_shapes import EntriesShape, RecordShape
from haccp.premises.api_fields import Moment


class ChemicalLotShape(serializers.ModelSerializer[ChemicalLot]):
    class Meta:
        model = ChemicalLot
        fields: ClassVar[tuple[str, ...]] = ("id", "chemical", "code", "expires_on", "recorded_at")


class ChemicalShape(serializers.ModelSerializer[Chemical]):
    lots = ChemicalLotShape(many=True, read_only=True)

    class Meta:
        model = Chemical
        fields: ClassVar[tuple[str, ...]] = ("id", "name", "active", "purpose", "lots")


class ChemicalNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    name = serializers.CharField(max_length=80, allow_blank=True)
    purpose = serializers.ChoiceField(Chemical.Purpose.choices)
    active = serializers.CharField(max_length=80, allow_blank=True, default="")


class ChemicalLotNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    code = serializers.CharField(max_length=40, allow_blank=True)
    expires_on = serializers.DateField(allow_null=True, default=None)


class MethodStepShape(serializers.ModelSerializer[MethodStep]):
    class Meta:
        model = MethodStep
        fields: ClassVar[tuple[str, ...]] = ("kind", "text")


class MethodShape(serializers.ModelSerializer[Method]):
    """check_key: key of the plan's check that a cleaning by this method is entered with."""

    steps = MethodStepShape(many=True, read_only=True)
    chemicals: Any = serializers.PrimaryKeyRelatedField(many=True, read_only=True)

    class Meta:
        model = Method
        fields: ClassVar[tuple[str, ...]] = (
            "id", "place", "name", "check_key", "steps", "chemicals", "before_use", "keeps_clean_s", "recorded_at",
        )  # fmt: skip


class CleaningShape(serializers.ModelSerializer[Cleaning]):
    record = RecordShape(read_only=True)
    place = serializers.UUIDField(source="method.place_id", read_only=True)
    chemical_lots: Any = serializers.PrimaryKeyRelatedField(source="lots", many=True, read_only=True)

    class Meta:
        model = Cleaning
        fields: ClassVar[tuple[str, ...]] = ("record", "method", "place", "chemical_lots")


class CleaningNewShape(EntriesShape):
    """A record of the check that the method belongs to; check_id may be left out: the one in force."""

    method = serializers.UUIDField()
    chemical_lots = serializers.ListField(child=serializers.UUIDField(), max_length=20, default=list)
    check_id = serializers.UUIDField(allow_null=True, default=None)
    due = serializers.UUIDField(allow_null=True, default=None)


class PlaceCleanShape(serializers.Serializer[Any]):
    place = serializers.UUIDField(source="place.pk")
    name = serializers.CharField(source="place.name")
    is_clean = serializers.BooleanField()
    reason = serializers.CharField()


class SwabPointShape(serializers.ModelSerializer[SwabPoint]):
    class Meta:
        model = SwabPoint
        fields: ClassVar[tuple[str, ...]] = ("id", "place", "name", "zone", "recorded_at")


class SwabPointNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    place = serializers.UUIDField()
    name = serializers.CharField(max_length=80, allow_blank=True)
    zone = serializers.ChoiceField(SwabPoint.Zone.choices)


class GuideStepShape(serializers.Serializer[Any]):
    text = serializers.CharField()
    source = serializers.CharField(help_text="What it rests on, and what is known of that text")  # type: ignore[assignment]


class PointNowShape(serializers.Serializer[Any]):
    """A point, what was found there in the present chain of finds, and since when a swab of it is due."""

    point = SwabPointShape()
    due_on = serializers.DateField(allow_null=True)
    awaits_result = serializers.BooleanField()
    finds = serializers.IntegerField(source="standing.finds")
    free_since = serializers.IntegerField(source="standing.negatives")
    is_open = serializers.BooleanField(source="standing.is_open")
    may_not_be_used = serializers.BooleanField(source="standing.may_not_be_used")
    steps = GuideStepShape(source="standing.steps", many=True)


class RotaShape(serializers.ModelSerializer[Rota]):
    class Meta:
        model = Rota
        fields: ClassVar[tuple[str, ...]] = (
            "id", "zone", "first_on", "every_days", "at_once", "control_point_code", "replaces", "recorded_at",
        )  # fmt: skip


class RotaNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    zone = serializers.ChoiceField(SwabPoint.Zone.choices)
    first_on = serializers.DateField()
    every_days = serializers.IntegerField(min_value=1, max_value=366)
    at_once = serializers.IntegerField(min_value=1, max_value=100)
    control_point_code = serializers.CharField(max_length=12)


class SwabResultShape(serializers.ModelSerializer[SwabResult]):
    class Meta:
        model = SwabResult
        fields: ClassVar[tuple[str, ...]] = (
            "id", "found", "laboratory", "report", "reported_on", "deviation", "replaces", "replace_reason",
            "recorded_at",
        )  # fmt: skip


class SwabShape(serializers.ModelSerializer[Swab]):
    """test: of the sample that it is at a laboratory, which takes its result. results: the last one counts."""

    test = serializers.UUIDField(source="sent.test_id", read_only=True, default=None, allow_null=True)
    sample = serializers.UUIDField(source="sent.test.sample_id", read_only=True, default=None, allow_null=True)
    results = SwabResultShape(many=True, read_only=True)

    class Meta:
        model = Swab
        fields: ClassVar[tuple[str, ...]] = (
            "id",
            "point",
            "code",
            "taken_at",
            "recorded_at",
            "sample",
            "test",
            "results",
        )


class SwabNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    point = serializers.UUIDField()
    code = serializers.CharField(max_length=40, allow_blank=True)
    taken_at = Moment()


class SwabsSentShape(serializers.Serializer[Any]):
    swabs = serializers.ListField(child=serializers.UUIDField(), max_length=100)
    laboratory = serializers.CharField(max_length=120, allow_blank=True)
    sent_at = Moment(allow_null=True, default=None)
    temperature = serializers.CharField(max_length=40, allow_blank=True, default="")
    temperature_unit = serializers.ChoiceField(["°C", "°F"], default="°C")
    note = serializers.CharField(max_length=2000, allow_blank=True, default="")


class SwabResultNewShape(serializers.Serializer[Any]):
    found = serializers.ChoiceField(SwabResult.Found.choices)
    laboratory = serializers.CharField(max_length=120, allow_blank=True)
    report = serializers.CharField(max_length=80, allow_blank=True, default="")
    reported_on = serializers.DateField()

"""How checks, records and days look in the API."""

from typing import Any, ClassVar

from rest_framework import serializers

from haccp.checks.actions import EntryTyped
from haccp.checks.models import DaySignature, DueCheck, MissedCheck, Reading, Record, RulingRow, TraceFile
from haccp.plan.models import Check, CriticalLimit, Measure
from haccp.premises.api_fields import Moment


class LimitShape(serializers.ModelSerializer[CriticalLimit]):
    class Meta:
        model = CriticalLimit
        fields = ("id", "statement", "quantity", "comparator", "low", "high", "target_low", "target_high", "unit")


class MeasureShape(serializers.ModelSerializer[Measure]):
    limits = LimitShape(many=True, read_only=True)

    class Meta:
        model = Measure
        fields = ("id", "label", "kind", "quantity", "unit", "choices", "required", "limits")


class CheckShape(serializers.ModelSerializer[Check]):
    control_point = serializers.StringRelatedField[Any]()
    corrective_action = serializers.CharField(source="control_point.corrective_action", read_only=True)
    measures = MeasureShape(many=True, read_only=True)

    class Meta:
        model = Check
        fields = (
            "id",
            "name",
            "control_point",
            "corrective_action",
            "subject",
            "place",
            "how",
            "who",
            "instrument_kind",
            "cadence",
            "measures",
        )


class DueShape(serializers.ModelSerializer[DueCheck]):
    check_id = serializers.UUIDField(source="check_due_id", read_only=True)
    name = serializers.CharField(source="check_due.name", read_only=True)
    place = serializers.StringRelatedField[Any](source="check_due.place", allow_null=True)
    lot_code = serializers.CharField(source="lot.code", read_only=True, default=None, allow_null=True)

    class Meta:
        model = DueCheck
        fields: ClassVar[tuple[str, ...]] = (
            "id",
            "check_id",
            "name",
            "place",
            "lot",
            "lot_code",
            "opens_at",
            "due_at",
            "grace_ends_at",
            "settled_at",
        )


class DueDetailShape(DueShape):
    definition = CheckShape(source="check_due", read_only=True)

    class Meta(DueShape.Meta):
        fields: ClassVar[tuple[str, ...]] = (*DueShape.Meta.fields, "definition")


class MissedShape(serializers.ModelSerializer[MissedCheck]):
    due = DueShape(read_only=True)
    reason = serializers.CharField(source="reason.text", read_only=True, default=None, allow_null=True)

    class Meta:
        model = MissedCheck
        fields = ("id", "due", "missed_at", "flagged_at", "reason")


class TodayShape(serializers.Serializer[Any]):
    """Due checks of the day at this moment, each list in walking order."""

    late = DueShape(many=True)
    due = DueShape(many=True)
    later = DueShape(many=True)
    missed = MissedShape(many=True)


class ReadingShape(serializers.ModelSerializer[Reading]):
    label = serializers.CharField(source="measure.label", read_only=True)  # type: ignore[assignment]

    class Meta:
        model = Reading
        fields = ("measure", "label", "value_si", "choice", "typed_text", "typed_unit")


class RulingShape(serializers.ModelSerializer[RulingRow]):
    limit_statement = serializers.CharField(source="limit.statement", read_only=True)

    class Meta:
        model = RulingRow
        fields = ("limit", "limit_statement", "ruling", "margin", "code", "reason", "facts", "judged_by")


class RecordShape(serializers.ModelSerializer[Record]):
    check_id = serializers.UUIDField(source="check_done_id", read_only=True)
    name = serializers.CharField(source="check_done.name", read_only=True)
    recorded_by = serializers.StringRelatedField[Any]()
    readings = ReadingShape(many=True, read_only=True)
    rulings = RulingShape(many=True, read_only=True)

    class Meta:
        model = Record
        fields = (
            "id",
            "check_id",
            "name",
            "revision",
            "due",
            "lot",
            "place",
            "instrument",
            "trace",
            "trace_roles",
            "observed_at",
            "recorded_at",
            "device_at",
            "recorded_by",
            "note",
            "amends",
            "amend_reason",
            "readings",
            "rulings",
        )


class EntryShape(serializers.Serializer[Any]):
    measure = serializers.UUIDField()
    text = serializers.CharField(max_length=2000, allow_blank=True, help_text="As typed: 63,5 or 63.5, or an answer")
    unit = serializers.CharField(max_length=16, allow_blank=True, default="")


class EntriesShape(serializers.Serializer[Any]):
    id = serializers.UUIDField(help_text="Made by the client: the same record sent twice is one record")
    entries = EntryShape(many=True)
    observed_at = Moment(help_text="When it was measured")
    instrument = serializers.UUIDField(allow_null=True, default=None)
    note = serializers.CharField(max_length=5000, allow_blank=True, default="")
    device_at = Moment(allow_null=True, default=None, help_text="The device's clock on sending")

    def validate_entries(self, entries: list[dict[str, Any]]) -> list[dict[str, Any]]:
        measures = [entry["measure"] for entry in entries]
        if len(measures) != len(set(measures)):
            raise serializers.ValidationError("The same measure is there twice; send one entry for each.")
        return entries

    def typed(self) -> dict[Any, EntryTyped]:
        return {entry["measure"]: EntryTyped(entry["text"], entry["unit"]) for entry in self.validated_data["entries"]}


class RecordNewShape(EntriesShape):
    check_id = serializers.UUIDField()
    due = serializers.UUIDField(allow_null=True, default=None)
    lot = serializers.UUIDField(allow_null=True, default=None)
    trace = serializers.UUIDField(allow_null=True, default=None, help_text="A recorder file sent before")
    trace_roles = serializers.DictField(
        child=serializers.ChoiceField(["product", "air_space", "other"]),
        default=dict,
        help_text="channel -> what it measures; what the file suggests when left out",
    )


class AmendmentNewShape(EntriesShape):
    reason = serializers.CharField(max_length=2000, allow_blank=True)


class TraceShape(serializers.ModelSerializer[TraceFile]):
    class Meta:
        model = TraceFile
        fields = (
            "id",
            "lot",
            "filename",
            "sha256",
            "started_at",
            "duration_s",
            "sample_count",
            "roles",
            "header",
            "notes",
            "uploaded_at",
        )


class TraceNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    lot = serializers.UUIDField(allow_null=True, default=None)
    file = serializers.FileField(allow_empty_file=True)


class ReasonNewShape(serializers.Serializer[Any]):
    text = serializers.CharField(max_length=2000, allow_blank=True)


class DaySignatureShape(serializers.ModelSerializer[DaySignature]):
    signed_by = serializers.StringRelatedField[Any]()
    signed_at = serializers.DateTimeField(source="signature.signed_at", read_only=True)

    class Meta:
        model = DaySignature
        fields = ("id", "day", "meaning", "signed_by", "signed_at", "content_sha256")


class DayShape(serializers.Serializer[Any]):
    day = serializers.DateField()
    content = serializers.JSONField(help_text="Exactly what a signature attests")
    content_sha256 = serializers.CharField()
    unanswered = serializers.ListField(child=serializers.CharField())
    signatures = DaySignatureShape(many=True)
    fingerprint = serializers.CharField(help_text="Of the premises' ledger as it stands")


class DaySignatureNewShape(serializers.Serializer[Any]):
    meaning = serializers.ChoiceField(DaySignature.Meaning.choices)
    password = serializers.CharField(write_only=True)
    seen_sha256 = serializers.CharField(max_length=64, help_text="content_sha256 of the day as it was read")

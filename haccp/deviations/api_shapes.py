"""How deviations look in the API."""

from datetime import datetime
from typing import Any, TypedDict

from rest_framework import serializers

from haccp.deviations.models import CorrectiveStep, Deviation, Evidence, ImplicatedLot, LotEnd, Task, Widening
from haccp.premises.api_fields import Moment


class ImplicatedShape(serializers.ModelSerializer[ImplicatedLot]):
    code = serializers.CharField(source="lot.code", read_only=True)

    class Meta:
        model = ImplicatedLot
        fields = ("lot", "code", "why", "way", "touched_from")


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
            "origin_unknown",
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
    is_complaint = serializers.BooleanField(default=False)
    origin_unknown = serializers.BooleanField(
        default=False,
        help_text="Something was found and nobody knows where it came from: what shares a source is implicated too",
    )


class DispositionsNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    lots = serializers.ListField(child=serializers.UUIDField(), max_length=500)
    disposition = serializers.ChoiceField(CorrectiveStep.Disposition.choices)
    text = serializers.CharField(max_length=5000, allow_blank=True, help_text="Why this is safe to do with them")


class StepNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    kind = serializers.ChoiceField(CorrectiveStep.Kind.choices)
    text = serializers.CharField(max_length=5000, allow_blank=True)
    lot = serializers.UUIDField(allow_null=True, default=None)
    disposition = serializers.ChoiceField(CorrectiveStep.Disposition.choices, allow_blank=True, default="")


class ClosureNewShape(serializers.Serializer[Any]):
    password = serializers.CharField(write_only=True)
    seen_sha256 = serializers.CharField(max_length=64, help_text="content_sha256 of the deviation as it was read")


class SuggestedLotShape(serializers.Serializer[Any]):
    lot = serializers.UUIDField()
    code = serializers.CharField()
    why = serializers.CharField()


class WideningShape(serializers.ModelSerializer[Widening]):
    recorded_by = serializers.StringRelatedField[Any]()
    lots = serializers.SlugRelatedField[Any](many=True, read_only=True, slug_field="lot_id")

    class Meta:
        model = Widening
        fields = ("id", "reason", "lots", "recorded_at", "recorded_by")


class ReachShape(serializers.Serializer[Any]):
    widenings = WideningShape(many=True)
    suggested = SuggestedLotShape(many=True, help_text="Not implicated, but may be touched; none once it is closed")


class WideningNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    lots = serializers.ListField(child=serializers.UUIDField(), max_length=500)
    reason = serializers.CharField(max_length=5000, allow_blank=True)


class NarrowingNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    lot = serializers.UUIDField()
    text = serializers.CharField(max_length=5000, allow_blank=True, help_text="Why it was not touched")


class TaskDoneAnswer(TypedDict):
    """worked: None for any task but a look at the effectiveness."""

    note: str
    worked: bool | None
    done_at: datetime
    done_by: str


class TaskShape(serializers.ModelSerializer[Task]):
    owner = serializers.UUIDField(source="owner_id", read_only=True)
    owner_name = serializers.CharField(source="owner.name", read_only=True)
    done = serializers.SerializerMethodField()

    class Meta:
        model = Task
        fields = ("id", "deviation", "kind", "title", "owner", "owner_name", "due_on", "done")

    def get_done(self, task: Task) -> TaskDoneAnswer | None:
        if not hasattr(task, "done"):
            return None
        done = task.done
        return {"note": done.note, "worked": done.worked, "done_at": done.done_at, "done_by": done.done_by.name}


class TaskNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    title = serializers.CharField(max_length=200, allow_blank=True)
    owner = serializers.UUIDField(help_text="The id of somebody who works here, as dairy/ lists them")
    due_on = serializers.DateField()


class TaskDoneNewShape(serializers.Serializer[Any]):
    note = serializers.CharField(max_length=5000, allow_blank=True)
    worked = serializers.BooleanField(
        allow_null=True, default=None, help_text="Asked of a look at the effectiveness, and of no other task"
    )


class EvidenceShape(serializers.ModelSerializer[Evidence]):
    attached_by = serializers.StringRelatedField[Any]()

    class Meta:
        model = Evidence
        fields = ("id", "deviation", "filename", "note", "sha256", "size_bytes", "attached_at", "attached_by")


class EvidenceNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    file = serializers.FileField(allow_empty_file=True)
    note = serializers.CharField(max_length=400, allow_blank=True, default="")


class EndShape(serializers.ModelSerializer[LotEnd]):
    code = serializers.CharField(source="lot.code", read_only=True)
    recorded_by = serializers.StringRelatedField[Any]()

    class Meta:
        model = LotEnd
        fields = ("id", "deviation", "lot", "code", "disposition", "note", "ended_at", "recorded_at", "recorded_by")


class EndsShape(serializers.Serializer[Any]):
    ended = EndShape(many=True)
    awaited = StepShape(many=True, help_text="What was decided of lots whose end nobody has recorded yet")


class EndNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    lot = serializers.UUIDField()
    note = serializers.CharField(max_length=5000, allow_blank=True, help_text="How it was done, and who saw it")
    ended_at = Moment()

"""How packs look in the API."""

from typing import Any

from rest_framework import serializers

from haccp.reports import queries
from haccp.reports.languages import DEFAULT, LANGUAGES
from haccp.reports.models import VisitPack


class ProgressShape(serializers.Serializer[Any]):
    state = serializers.ChoiceField(["waiting", "making", "finished", "failed", "cancelled"])
    stage = serializers.CharField(allow_blank=True)
    done = serializers.IntegerField()
    total = serializers.IntegerField(help_text="0 while the size of the work is not known")
    percent = serializers.IntegerField(allow_null=True)


class PackShape(serializers.ModelSerializer[VisitPack]):
    requested_by = serializers.StringRelatedField[Any]()
    progress = serializers.SerializerMethodField()

    class Meta:
        model = VisitPack
        fields = (
            "id",
            "period_from",
            "period_to",
            "choice",
            "choice_words",
            "language",
            "requested_at",
            "requested_by",
            "progress",
            "finished_at",
            "failed_at",
            "failure",
            "cancelled_at",
            "sha256",
            "size_bytes",
            "page_count",
            "contents",
        )

    def get_progress(self, pack: VisitPack) -> ProgressShape:
        return ProgressShape(queries.progress_of(pack)).data  # type: ignore[return-value]


class PackNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField(help_text="Made by the client: the same pack asked for twice is one pack")
    period_from = serializers.DateField(help_text="First local day")
    period_to = serializers.DateField(help_text="Last local day, included")
    products = serializers.ListField(
        child=serializers.UUIDField(), default=list, max_length=100, help_text="Only what concerns these cheeses"
    )
    batches = serializers.ListField(
        child=serializers.UUIDField(), default=list, max_length=200, help_text="Only these batches, whatever the period"
    )
    point = serializers.CharField(default="", allow_blank=True, max_length=40, help_text="Code of one control point")
    deviation = serializers.UUIDField(default=None, allow_null=True, help_text="Only this deviation")
    recall = serializers.UUIDField(default=None, allow_null=True, help_text="Only this recall or exercise")

    language = serializers.ChoiceField(LANGUAGES, default=DEFAULT, help_text="Of the paper's own words")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        narrowed = [name for name in ("products", "batches", "point", "deviation", "recall") if attrs[name]]
        if len(narrowed) > 1:
            raise serializers.ValidationError({narrowed[1]: "A pack shows one of these; leave out all but one."})
        return attrs

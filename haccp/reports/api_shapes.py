"""How packs look in the API."""

from typing import Any

from rest_framework import serializers

from haccp.reports import queries
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

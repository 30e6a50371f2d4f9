"""The API of training."""

from typing import Any, ClassVar

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from haccp.premises.api_access import WRITES, Pages, scope_of, sent_in
from haccp.premises.api_once import IDEMPOTENCY, once
from haccp.training import actions, queries
from haccp.training.models import Training


class TrainingShape(serializers.ModelSerializer[Training]):
    person_name = serializers.CharField(source="person.name", read_only=True)

    class Meta:
        model = Training
        fields: ClassVar[tuple[str, ...]] = (
            "id", "person", "person_name", "subject", "given_by", "given_on", "valid_until", "note", "recorded_at",
        )  # fmt: skip


class TrainingNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    person = serializers.UUIDField(help_text="Of somebody who works here")
    subject = serializers.CharField(max_length=120)
    given_by = serializers.CharField(max_length=120)
    given_on = serializers.DateField()
    valid_until = serializers.DateField(allow_null=True, default=None, help_text="Null: it does not run out")
    note = serializers.CharField(max_length=2000, allow_blank=True, default="")


class LatestFirst(Pages):
    ordering = ("-given_on", "-pk")


class Trainings(generics.ListAPIView[Training]):
    """Trainings given, latest first."""

    rights: ClassVar = WRITES
    serializer_class = TrainingShape
    pagination_class = LatestFirst
    queryset = Training.objects.none()

    def get_queryset(self) -> QuerySet[Training]:
        return queries.trainings_of(scope_of(self.request).premises)

    @extend_schema(request=TrainingNewShape, responses={201: TrainingShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Somebody who works here was trained."""
        sent = dict(sent_in(request, TrainingNewShape))
        saved = actions.training_record(
            scope=scope_of(request), training_id=sent.pop("id"), person_id=sent.pop("person"), **sent
        )
        return Response(TrainingShape(saved).data, status=201)

"""The API of what comes in: milk lots, ingredient lots, what was found of them, and the decision about them."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from batches.intake import actions, queries, stock
from batches.intake.actions import FindingTyped
from batches.intake.models import Acceptance, IngredientLot, MilkFinding, MilkLot
from haccp.plan.models import MilkSpecies
from haccp.premises.api_access import Pages, scope_of, sent_in
from haccp.premises.api_fields import Moment
from haccp.premises.api_once import IDEMPOTENCY, once
from haccp.premises.roles import Right


class MilkShape(serializers.ModelSerializer[MilkLot]):
    id = serializers.UUIDField(source="lot_id", read_only=True)
    code = serializers.CharField(source="lot.code", read_only=True)
    received_at = serializers.DateTimeField(source="lot.begun_at", read_only=True)

    class Meta:
        model = MilkLot
        fields = (
            "id",
            "code",
            "species",
            "source",
            "supplier",
            "volume_l",
            "typed_volume",
            "typed_unit",
            "received_at",
            "milked_from",
            "milked_until",
        )


class MilkNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    species = serializers.ChoiceField(MilkSpecies.choices)
    # "source" is taken by the serializer's own machinery for fields, not for names: it is a plain name here.
    source = serializers.CharField(max_length=120, allow_blank=True)  # type: ignore[assignment]
    volume = serializers.CharField(max_length=40, help_text="As typed: 180 or 180,5")
    volume_unit = serializers.CharField(max_length=8, default="L")
    received_at = Moment()
    place = serializers.UUIDField(allow_null=True, default=None)
    milked_from = Moment(allow_null=True, default=None)
    milked_until = Moment(allow_null=True, default=None)


class FindingShape(serializers.ModelSerializer[MilkFinding]):
    class Meta:
        model = MilkFinding
        fields = (
            "id",
            "kind",
            "value_si",
            "answer",
            "typed_text",
            "typed_unit",
            "observed_at",
            "instrument",
            "unfit",
            "note",
            "recorded_at",
        )


class FindingNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    kind = serializers.ChoiceField(MilkFinding.Kind.choices)
    text = serializers.CharField(max_length=80, help_text="As typed, or one of the answers: 6,62 · negative")
    unit = serializers.CharField(max_length=16, allow_blank=True, default="")
    observed_at = Moment()
    instrument = serializers.UUIDField(allow_null=True, default=None)
    note = serializers.CharField(max_length=5000, allow_blank=True, default="")


class DecisionShape(serializers.ModelSerializer[Acceptance]):
    class Meta:
        model = Acceptance
        fields = ("id", "lot", "decision", "reason", "decided_at")


class DecisionNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    decision = serializers.ChoiceField(Acceptance.Decision.choices)
    reason = serializers.CharField(max_length=5000, allow_blank=True, default="")


class IngredientShape(serializers.ModelSerializer[IngredientLot]):
    id = serializers.UUIDField(source="lot_id", read_only=True)
    code = serializers.CharField(source="lot.code", read_only=True)
    received_at = serializers.DateTimeField(source="lot.begun_at", read_only=True)
    left_si = serializers.SerializerMethodField(help_text="In kg, L or pieces, as quantity says")

    class Meta:
        model = IngredientLot
        fields = (
            "id",
            "code",
            "kind",
            "name",
            "supplier_lot",
            "expires_on",
            "quantity",
            "amount_si",
            "left_si",
            "typed_amount",
            "typed_unit",
            "strength",
            "strength_unit",
            "received_at",
        )

    def get_left_si(self, row: IngredientLot) -> float:
        annotated: float | None = getattr(row, "left_si", None)
        return stock.left_si(row) if annotated is None else annotated


class IngredientNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    kind = serializers.ChoiceField(IngredientLot.Kind.choices)
    name = serializers.CharField(max_length=120)
    amount = serializers.CharField(max_length=40, help_text="As typed: 500 or 0,5")
    amount_unit = serializers.CharField(max_length=8)
    received_at = Moment()
    supplier = serializers.UUIDField(allow_null=True, default=None)
    supplier_lot = serializers.CharField(max_length=80, allow_blank=True, default="")
    expires_on = serializers.DateField(allow_null=True, default=None)
    strength = serializers.CharField(max_length=40, allow_blank=True, default="")
    strength_unit = serializers.ChoiceField(
        [("", "none"), *IngredientLot.StrengthUnit.choices], allow_blank=True, default=""
    )
    bulk_density = serializers.CharField(max_length=40, allow_blank=True, default="", help_text="g/mL of a powder")
    note = serializers.CharField(max_length=5000, allow_blank=True, default="")


class LatestFirst(Pages):
    ordering = ("-lot__begun_at", "-pk")


class Milk(generics.ListAPIView[MilkLot]):
    """Milk lots, latest first."""

    rights: ClassVar = {"POST": Right.RECORD}
    serializer_class = MilkShape
    pagination_class = LatestFirst
    queryset = MilkLot.objects.none()

    def get_queryset(self) -> QuerySet[MilkLot]:
        return queries.milk_of(scope_of(self.request).premises)

    @extend_schema(request=MilkNewShape, responses={201: MilkShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Milk arrived; its acceptance checks fall due."""
        sent = sent_in(request, MilkNewShape)
        milk = actions.milk_receive(
            scope=scope_of(request),
            lot_id=sent["id"],
            species=sent["species"],
            source=sent["source"],
            volume=sent["volume"],
            volume_unit=sent["volume_unit"],
            received_at=sent["received_at"],
            place_id=sent["place"],
            milked_from=sent["milked_from"],
            milked_until=sent["milked_until"],
        )
        return Response(MilkShape(milk).data, status=201)


class MilkDetail(generics.RetrieveAPIView[MilkLot]):
    """One milk lot."""

    serializer_class = MilkShape
    queryset = MilkLot.objects.none()

    def get_queryset(self) -> QuerySet[MilkLot]:
        return queries.milk_of(scope_of(self.request).premises)


class MilkFindings(APIView):
    rights: ClassVar = {"POST": Right.RECORD}

    @extend_schema(request=FindingNewShape, responses={201: FindingShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Something was found of the milk: a temperature, its acidity, how it smells, a residue test."""
        scope = scope_of(request)
        get_object_or_404(MilkLot, pk=pk, lot__premises=scope.premises)
        sent = sent_in(request, FindingNewShape)
        typed = FindingTyped(
            finding_id=sent["id"],
            kind=sent["kind"],
            text=sent["text"],
            unit=sent["unit"],
            observed_at=sent["observed_at"],
            instrument_id=sent["instrument"],
            note=sent["note"],
            field="text",
        )
        [row] = actions.findings_record(scope=scope, lot_id=pk, findings=[typed])
        return Response(FindingShape(row).data, status=201)


class MilkDecision(APIView):
    rights: ClassVar = {"POST": Right.RECORD}

    @extend_schema(request=DecisionNewShape, responses={201: DecisionShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """The milk is accepted or refused. The last decision counts."""
        return _decide(request, get_object_or_404(MilkLot, pk=pk, lot__premises=scope_of(request).premises).pk)


class Ingredients(generics.ListAPIView[IngredientLot]):
    """Ingredient lots, latest first, each with what is left of it."""

    rights: ClassVar = {"POST": Right.RECORD}
    serializer_class = IngredientShape
    pagination_class = LatestFirst
    queryset = IngredientLot.objects.none()

    def get_queryset(self) -> QuerySet[IngredientLot]:
        return stock.ingredients_of(scope_of(self.request).premises)

    @extend_schema(request=IngredientNewShape, responses={201: IngredientShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """An ingredient came in; it can be used once it is accepted."""
        sent = sent_in(request, IngredientNewShape)
        row = actions.ingredient_receive(
            scope=scope_of(request), lot_id=sent.pop("id"), supplier_id=sent.pop("supplier"), **sent
        )
        return Response(IngredientShape(row).data, status=201)


class IngredientDetail(generics.RetrieveAPIView[IngredientLot]):
    """One ingredient lot."""

    serializer_class = IngredientShape
    queryset = IngredientLot.objects.none()

    def get_queryset(self) -> QuerySet[IngredientLot]:
        return stock.ingredients_of(scope_of(self.request).premises)


class IngredientDecision(APIView):
    rights: ClassVar = {"POST": Right.RECORD}

    @extend_schema(request=DecisionNewShape, responses={201: DecisionShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """The ingredient is accepted or refused. The last decision counts."""
        return _decide(request, get_object_or_404(IngredientLot, pk=pk, lot__premises=scope_of(request).premises).pk)


def _decide(request: Request, lot_id: UUID) -> Response:
    shape = DecisionNewShape(data=request.data)
    shape.is_valid(raise_exception=True)
    sent = shape.validated_data
    row = actions.acceptance_decide(
        scope=scope_of(request),
        acceptance_id=sent["id"],
        lot_id=lot_id,
        decision=sent["decision"],
        reason=sent["reason"],
    )
    return Response(DecisionShape(row).data, status=201)

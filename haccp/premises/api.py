"""The API of what a device needs to know of its dairy: who it speaks for, the places and instruments."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from haccp.premises import queries
from haccp.premises.api_access import scope_of
from haccp.premises.models import Instrument, Place, Premises, User
from haccp.premises.roles import Right


class PlaceShape(serializers.ModelSerializer[Place]):
    class Meta:
        model = Place
        fields = ("id", "name", "kind", "walking_order")


class InstrumentShape(serializers.ModelSerializer[Instrument]):
    class Meta:
        model = Instrument
        fields = ("id", "name", "kind", "place", "expanded_uncertainty", "calibrated_on", "calibration_valid_until")


class PersonShape(serializers.ModelSerializer[User]):
    class Meta:
        model = User
        fields = ("id", "name")


class OwnPremisesShape(serializers.ModelSerializer[Premises]):
    class Meta:
        model = Premises
        fields = ("id", "name")


class DairyShape(serializers.Serializer[Any]):
    premises = serializers.CharField()
    time_zone = serializers.CharField()
    person = serializers.CharField()
    role = serializers.CharField()
    rights = serializers.ListField(child=serializers.CharField())
    places = PlaceShape(many=True)
    instruments = InstrumentShape(many=True)
    own_premises = OwnPremisesShape(many=True, help_text="The producer's others, which cheese can be moved to")
    people = PersonShape(many=True, help_text="Who works here, and may be given a task")


class Dairy(APIView):
    @extend_schema(responses=DairyShape)
    def get(self, request: Request) -> Response:
        """The dairy that this device belongs to, and what the person may do there."""
        scope = scope_of(request)
        shaped = DairyShape(
            {
                "premises": scope.premises.name,
                "time_zone": scope.premises.time_zone,
                "person": scope.user.name,
                "role": scope.membership.role,
                "rights": [right.value for right in Right if scope.may(right)],
                "places": queries.places_of(scope.premises),
                "instruments": queries.instruments_of(scope.premises),
                "own_premises": queries.own_premises_of(scope.premises),
                "people": queries.people_of(scope.premises),
            }
        )
        return Response(shaped.data)

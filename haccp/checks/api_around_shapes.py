"""How photographs, closed periods and absences look in the API."""

from typing import Any

from rest_framework import serializers

from haccp.checks.models import Absence, ClosedPeriod, FreeDay, Keeper, PhotoFile

MOST_ANSWERED_TOGETHER = 5000


class PhotoShape(serializers.ModelSerializer[PhotoFile]):
    class Meta:
        model = PhotoFile
        fields = ("id", "sent_sha256", "kept_sha256", "width", "height", "sent_at")


class PhotoNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    file = serializers.FileField(allow_empty_file=True)


class ReasonsNewShape(serializers.Serializer[Any]):
    missed = serializers.ListField(child=serializers.UUIDField(), max_length=MOST_ANSWERED_TOGETHER)
    text = serializers.CharField(max_length=2000, allow_blank=True)


class ReasonsShape(serializers.Serializer[Any]):
    missed = serializers.ListField(child=serializers.UUIDField(), help_text="Those that now have this reason")


class ClosedShape(serializers.ModelSerializer[ClosedPeriod]):
    open_again_on = serializers.DateField(source="reopening.on", read_only=True, default=None, allow_null=True)

    class Meta:
        model = ClosedPeriod
        fields = ("id", "without", "first", "last", "reason", "said_at", "open_again_on")


class ClosedNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    without = serializers.ChoiceField(ClosedPeriod.Without.choices)
    first = serializers.DateField()
    last = serializers.DateField(help_text="Inclusive")
    reason = serializers.CharField(max_length=2000, allow_blank=True)


class FreeDayShape(serializers.ModelSerializer[FreeDay]):
    class Meta:
        model = FreeDay
        fields = ("id", "day", "is_free", "name", "said_at")


class FreeDayNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    day = serializers.DateField()
    is_free = serializers.BooleanField(default=True, help_text="false: a working day after all")
    name = serializers.CharField(max_length=120, allow_blank=True, default="")


class FreeDaysNewShape(serializers.Serializer[Any]):
    days = FreeDayNewShape(many=True)


class OnShape(serializers.Serializer[Any]):
    on = serializers.DateField()


class AbsenceShape(serializers.ModelSerializer[Absence]):
    person = serializers.UUIDField(source="membership.user_id", read_only=True)
    stand_in = serializers.UUIDField(source="stand_in.user_id", read_only=True, default=None, allow_null=True)
    back_on = serializers.DateField(source="back.on", read_only=True, default=None, allow_null=True)

    class Meta:
        model = Absence
        fields = ("id", "person", "first", "last", "stand_in", "note", "said_at", "back_on")


class AbsenceNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    person = serializers.UUIDField(help_text="As `dairy/` lists the people")
    first = serializers.DateField()
    last = serializers.DateField(help_text="Inclusive")
    stand_in = serializers.UUIDField(allow_null=True, default=None)
    note = serializers.CharField(max_length=200, allow_blank=True, default="")


class KeeperNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    person = serializers.UUIDField(allow_null=True)


class KeeperShape(serializers.ModelSerializer[Keeper]):
    person = serializers.UUIDField(source="membership.user_id", read_only=True, default=None, allow_null=True)

    class Meta:
        model = Keeper
        fields = ("id", "check_key", "person", "said_at")

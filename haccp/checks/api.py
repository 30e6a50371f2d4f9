"""The API of checks: today, due checks, records, amendments, recorder files, missed checks, days."""

from datetime import date
from typing import Any, ClassVar
from uuid import UUID

from django.conf import settings
from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import generics
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from haccp.checks import actions, api_shapes, queries
from haccp.checks.daybook import DayBook, day_book
from haccp.checks.models import DueCheck, MissedCheck, Record, TraceFile
from haccp.premises.uploads import OVERSIZED_KEY
from haccp.plan.models import Check
from haccp.premises.api_access import scope_of
from haccp.premises.api_once import once
from haccp.premises.errors import ActionError
from haccp.premises.roles import Right

WRITES: dict[str, Right] = {"POST": Right.RECORD}
PERIOD = [
    OpenApiParameter("from", OpenApiTypes.DATETIME, description="Observed at or after"),
    OpenApiParameter("to", OpenApiTypes.DATETIME, description="Observed before"),
    OpenApiParameter("lot", OpenApiTypes.UUID),
]

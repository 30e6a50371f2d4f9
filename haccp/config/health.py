"""For health checks of whatever runs the service: the process answers and reaches its database."""

from django.db import connection
from django.http import HttpRequest, JsonResponse


def alive(request: HttpRequest) -> JsonResponse:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
        cursor.fetchone()
    return JsonResponse({"alive": True})

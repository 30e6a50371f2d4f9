"""What every page knows: who and where, what stands open, and whether the schedule still runs."""

from typing import Any

from django.http import HttpRequest
from django.utils import timezone

from haccp.checks import queries as checks
from haccp.config import navigation
from haccp.deviations import queries as deviations

SERVICE_NAME = "Curdward"


def site(request: HttpRequest) -> dict[str, Any]:
    """scope, counts for the navigation, and `schedule_stopped_since` (None while it runs)."""
    scope = getattr(request, "scope", None)
    found: dict[str, Any] = {"service_name": SERVICE_NAME, "scope": scope, "now": timezone.now()}
    if scope is not None:
        match = request.resolver_match
        found["navigation"] = navigation.groups(match.view_name if match else "")
        found["open_deviation_count"] = deviations.open_count(scope.premises)
        found["schedule_stopped_since"] = checks.schedule_stopped_since(
            now=found["now"], allowed_s=checks.schedule_patience_s()
        )
    return found

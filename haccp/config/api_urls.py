"""The API, version 1: each room adds its own operations; the document that describes them all."""

from django.urls import include, path
from drf_spectacular.views import SpectacularJSONAPIView

urlpatterns = [
    path("", include("haccp.premises.api_urls")),
    path("", include("haccp.plan.api_urls")),
    path("", include("haccp.checks.api_urls")),
    path("", include("haccp.deviations.api_urls")),
    path("", include("haccp.notices.api_urls")),
    path("", include("haccp.calibration.api_urls")),
    path("", include("haccp.training.api_urls")),
    path("", include("batches.laboratory.api_urls")),
    path("", include("batches.hygiene.api_urls")),
    path("", include("batches.intake.api_urls")),
    path("", include("batches.making.api_urls")),
    path("", include("batches.ripening.api_urls")),
    path("", include("batches.release.api_urls")),
    path("", include("batches.stock.api_urls")),
    path("", include("batches.tracing.api_urls")),
    path("", include("batches.recall.api_urls")),
    path("", include("haccp.reports.api_urls")),
    path("openapi.json", SpectacularJSONAPIView.as_view(), name="openapi"),
]

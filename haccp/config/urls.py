"""Where each page lives."""

from django.urls import include, path
from django.views.generic import RedirectView

from haccp.access.views import sign_in
from haccp.config import errors, health

urlpatterns = [
    path("", RedirectView.as_view(pattern_name="checks:today"), name="home"),
    path("health/", health.alive, name="health"),
    # Before premises' own, which signs in without a second factor.
    path("sign-in/", sign_in.sign_in, name="sign_in"),
    path("", include("haccp.premises.urls")),
    path("", include("haccp.access.urls")),
    path("", include("haccp.checks.urls")),
    path("", include("haccp.deviations.urls")),
    path("", include("haccp.notices.urls")),
    path("", include("haccp.reports.urls")),
    path("", include("haccp.plan.urls")),
    path("", include("haccp.keeping.urls")),
    path("", include("batches.hygiene.urls")),
    path("", include("batches.tracing.urls")),
    path("", include("batches.recall.urls")),
    path("", include("haccp.calibration.urls")),
    path("", include("haccp.training.urls")),
    path("", include("haccp.charts.urls")),
    path("", include("batches.laboratory.urls")),
    path("", include("batches.intake.urls")),
    path("", include("batches.making.urls")),
    path("", include("batches.ripening.urls")),
    path("", include("batches.release.urls")),
    path("", include("batches.stock.urls")),
    path("api/v1/", include("haccp.config.api_urls")),
    path("api/", errors.no_such_operation, name="api_root"),
    path("api/<path:rest>", errors.no_such_operation, name="api_unknown"),
]
handler400 = errors.bad_request
handler403 = errors.not_allowed
handler404 = errors.not_found
handler500 = errors.server_error

from django.urls import path

from haccp.calibration import views

app_name = "calibration"
urlpatterns = [
    path("calibration/", views.overview, name="overview"),
    path("calibration/<uuid:calibration_id>/", views.calibration, name="calibration"),
    path("calibration/instruments/<uuid:instrument_id>/", views.history, name="history"),
    path("calibration/instruments/<uuid:instrument_id>/<slug:method>/", views.calibrate, name="calibrate"),
]

from django.urls import path

from haccp.calibration import api

urlpatterns = [
    path("instruments/<uuid:instrument_id>/calibrations/", api.Calibrations.as_view()),
    path("calibrations/<uuid:calibration_id>/", api.CalibrationDetail.as_view()),
]

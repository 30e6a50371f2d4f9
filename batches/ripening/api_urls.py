from django.urls import path

from batches.ripening import api

urlpatterns = [
    path("care/", api.CareGiven.as_view()),
    path("weighings/", api.Weighings.as_view()),
    path("rooms/<uuid:place_id>/readings/", api.Readings.as_view()),
    path("rooms/<uuid:place_id>/logs/", api.Logs.as_view()),
    path("makes/<uuid:pk>/ageing/", api.Ageing.as_view()),
]

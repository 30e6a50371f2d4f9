from django.urls import path

from haccp.deviations import api

urlpatterns = [
    path("deviations/", api.Deviations.as_view()),
    path("deviations/<uuid:pk>/", api.DeviationDetail.as_view()),
    path("deviations/<uuid:pk>/steps/", api.Steps.as_view()),
    path("deviations/<uuid:pk>/closure/", api.Closures.as_view()),
]

from django.urls import path

from batches.making import api

urlpatterns = [
    path("makes/", api.Makes.as_view()),
    path("makes/<uuid:pk>/", api.MakeDetail.as_view()),
    path("makes/<uuid:pk>/events/", api.Events.as_view()),
]

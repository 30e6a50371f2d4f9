from django.urls import path

from haccp.training import api

urlpatterns = [path("trainings/", api.Trainings.as_view())]

from django.urls import path

from haccp.plan import api

urlpatterns = [path("plan/", api.Plan.as_view())]

from django.urls import path

from haccp.premises import api

urlpatterns = [path("dairy/", api.Dairy.as_view())]

from django.urls import path

from haccp.training import views

app_name = "training"
urlpatterns = [
    path("training/", views.overview, name="overview"),
    path("training/given/", views.given, name="given"),
]

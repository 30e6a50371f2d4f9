from django.urls import path

from batches.tracing import views

app_name = "tracing"
urlpatterns = [
    path("trace/", views.find, name="find"),
    path("trace/<uuid:lot_id>/", views.trace, name="trace"),
    path("batches/<uuid:lot_id>/rework/", views.rework, name="rework"),
    path("milk/blend/", views.blend, name="blend"),
]

from django.urls import path

from batches.release import views

app_name = "release"
urlpatterns = [path("batches/<uuid:lot_id>/release/", views.release, name="release")]

from django.urls import path

from haccp.keeping import views

app_name = "keeping"
urlpatterns = [
    path("keeping/", views.keeping, name="keeping"),
    path("keeping/<uuid:export_id>/file/", views.export_file, name="file"),
]

from django.urls import path

from haccp.reports import api

urlpatterns = [
    path("packs/", api.Packs.as_view()),
    path("packs/<uuid:pk>/", api.PackDetail.as_view()),
    path("packs/<uuid:pk>/file/", api.PackFile.as_view()),
]

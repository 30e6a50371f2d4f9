from django.urls import path

from batches.recall import api

urlpatterns = [
    path("recalls/", api.Recalls.as_view()),
    path("recalls/<uuid:pk>/", api.RecallDetail.as_view()),
    path("recalls/<uuid:pk>/lot/", api.Chosen.as_view()),
    path("recalls/<uuid:pk>/reached/", api.Reached.as_view()),
    path("recalls/<uuid:pk>/finish/", api.Finished.as_view()),
]

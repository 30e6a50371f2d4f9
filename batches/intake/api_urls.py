from django.urls import path

from batches.intake import api

urlpatterns = [
    path("milk/", api.Milk.as_view()),
    path("milk/<uuid:pk>/", api.MilkDetail.as_view()),
]

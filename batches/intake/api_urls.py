from django.urls import path

from batches.intake import api

urlpatterns = [
    path("milk/", api.Milk.as_view()),
    path("milk/<uuid:pk>/", api.MilkDetail.as_view()),
    path("milk/<uuid:pk>/findings/", api.MilkFindings.as_view()),
    path("milk/<uuid:pk>/decision/", api.MilkDecision.as_view()),
    path("ingredients/", api.Ingredients.as_view()),
    path("ingredients/<uuid:pk>/", api.IngredientDetail.as_view()),
    path("ingredients/<uuid:pk>/decision/", api.IngredientDecision.as_view()),
]

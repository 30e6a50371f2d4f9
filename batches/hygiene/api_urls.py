from django.urls import path

from batches.hygiene import api

urlpatterns = [
    path("hygiene/places/", api.PlacesClean.as_view()),
    path("hygiene/methods/", api.Methods.as_view()),
    path("hygiene/chemicals/", api.Chemicals.as_view()),
    path("hygiene/chemicals/<uuid:pk>/lots/", api.ChemicalLots.as_view()),
    path("hygiene/cleanings/", api.Cleanings.as_view()),
    path("hygiene/swab-points/", api.SwabPoints.as_view()),
    path("hygiene/rotas/", api.Rotas.as_view()),
    path("hygiene/swabs/", api.Swabs.as_view()),
    path("hygiene/swabs/sent/", api.SwabsSent.as_view()),
    path("hygiene/swabs/<uuid:pk>/results/", api.SwabResults.as_view()),
]

from django.urls import path

from batches.making import api, api_brines, api_heat, api_sheet

urlpatterns = [
    path("makes/", api.Makes.as_view()),
    path("makes/<uuid:pk>/", api.MakeDetail.as_view()),
    path("makes/<uuid:pk>/events/", api.Events.as_view()),
    path("makes/<uuid:pk>/sheet/", api_sheet.SheetOfMake.as_view()),
    path("makes/<uuid:pk>/stages/", api_sheet.Stages.as_view()),
    path("makes/<uuid:pk>/ingredients/", api_sheet.Uses.as_view()),
    path("makes/<uuid:pk>/phosphatase/", api_heat.Phosphatase.as_view()),
    path("heat-treatments/<uuid:pk>/", api_heat.HeatTreatment.as_view()),
    path("brines/", api_brines.Brines.as_view()),
    path("brines/<uuid:pk>/", api_brines.BrineDetail.as_view()),
    path("brines/<uuid:pk>/changes/", api_brines.Changes.as_view()),
    path("brines/<uuid:pk>/batches/", api_brines.Batches.as_view()),
]

from django.urls import path

from batches.making import api, api_sheet

urlpatterns = [
    path("makes/", api.Makes.as_view()),
    path("makes/<uuid:pk>/", api.MakeDetail.as_view()),
    path("makes/<uuid:pk>/events/", api.Events.as_view()),
    path("makes/<uuid:pk>/sheet/", api_sheet.SheetOfMake.as_view()),
    path("makes/<uuid:pk>/stages/", api_sheet.Stages.as_view()),
    path("makes/<uuid:pk>/ingredients/", api_sheet.Uses.as_view()),
]

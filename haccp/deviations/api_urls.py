from django.urls import path

from haccp.deviations import api, api_more

urlpatterns = [
    path("deviations/", api.Deviations.as_view()),
    path("deviations/<uuid:pk>/", api.DeviationDetail.as_view()),
    path("deviations/<uuid:pk>/steps/", api.Steps.as_view()),
    path("deviations/<uuid:pk>/dispositions/", api.Dispositions.as_view()),
    path("deviations/<uuid:pk>/closure/", api.Closures.as_view()),
    path("deviations/<uuid:pk>/widenings/", api_more.Widenings.as_view()),
    path("deviations/<uuid:pk>/narrowings/", api_more.Narrowings.as_view()),
    path("deviations/<uuid:pk>/tasks/", api_more.Tasks.as_view()),
    path("deviations/tasks/<uuid:pk>/done/", api_more.TaskDone.as_view()),
    path("deviations/<uuid:pk>/evidence/", api_more.EvidenceFiles.as_view()),
    path("deviations/evidence/<uuid:pk>/content/", api_more.EvidenceContent.as_view()),
    path("deviations/<uuid:pk>/ends/", api_more.Ends.as_view()),
]

from django.urls import path

from haccp.checks import api, api_around, day_converter

day_converter.register()

urlpatterns = [
    path("today/", api.Today.as_view()),
    path("due-checks/", api.DueChecks.as_view()),
    path("due-checks/<uuid:pk>/", api.DueCheckDetail.as_view()),
    path("checks/<uuid:pk>/", api.CheckDetail.as_view()),
    path("records/", api.Records.as_view()),
    path("records/<uuid:pk>/", api.RecordDetail.as_view()),
    path("records/<uuid:pk>/amendments/", api.Amendments.as_view()),
    path("recorder-files/", api.Traces.as_view()),
    path("recorder-files/<uuid:pk>/", api.TraceDetail.as_view()),
    path("missed/<uuid:pk>/reason/", api.MissedReasons.as_view()),
    path("missed/reasons/", api_around.ReasonsTogether.as_view()),
    path("photos/", api_around.Photos.as_view()),
    path("closed-periods/", api_around.ClosedPeriods.as_view()),
    path("closed-periods/<uuid:pk>/reopening/", api_around.Reopenings.as_view()),
    path("free-days/", api_around.FreeDays.as_view()),
    path("absences/", api_around.Absences.as_view()),
    path("absences/<uuid:pk>/return/", api_around.Returns.as_view()),
    path("checks/<uuid:pk>/keeper/", api_around.Keepers.as_view()),
    path("days/<day:day>/", api.Day.as_view()),
    path("days/<day:day>/signatures/", api.DaySignatures.as_view()),
]

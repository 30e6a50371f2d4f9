from django.urls import path

from haccp.deviations import views

app_name = "deviations"
urlpatterns = [
    path("deviations/", views.deviation_list, name="list"),
    path("deviations/report/", views.report, name="report"),
    path("deviations/<uuid:deviation_id>/", views.detail, name="detail"),
    path("deviations/<uuid:deviation_id>/step/", views.step, name="step"),
    path("deviations/<uuid:deviation_id>/close/", views.close, name="close"),
]

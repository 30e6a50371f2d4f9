from django.urls import path

from haccp.deviations import views

app_name = "deviations"
urlpatterns = [
    path("deviations/", views.deviation_list, name="list"),
    path("deviations/report/", views.report, name="report"),
    path("deviations/<uuid:deviation_id>/", views.detail, name="detail"),
    path("deviations/<uuid:deviation_id>/step/", views.step, name="step"),
    path("deviations/<uuid:deviation_id>/close/", views.close, name="close"),
    path("deviations/<uuid:deviation_id>/decide/", views.decide, name="decide"),
    path("deviations/<uuid:deviation_id>/widen/", views.widen, name="widen"),
    path("deviations/<uuid:deviation_id>/tasks/", views.task_add, name="task_add"),
    path("deviations/tasks/<uuid:task_id>/done/", views.task_do, name="task_do"),
    path("deviations/<uuid:deviation_id>/evidence/", views.attach, name="attach"),
    path("deviations/evidence/<uuid:evidence_id>/", views.evidence, name="evidence"),
    path("deviations/<uuid:deviation_id>/lots/<uuid:lot_id>/end/", views.lot_end, name="lot_end"),
]

from django.urls import path

from haccp.reports import tracing_views, views

app_name = "reports"
urlpatterns = [
    path("plan/<uuid:revision_id>/pdf/", views.plan_pdf, name="plan_pdf"),
    path("trace/<uuid:lot_id>/pdf/", tracing_views.trace_pdf, name="trace_pdf"),
    path("recalls/<uuid:recall_id>/pdf/", tracing_views.recall_pdf, name="recall_pdf"),
    path("packs/", views.packs, name="packs"),
    path("packs/<uuid:pack_id>/", views.pack, name="pack"),
    path("packs/<uuid:pack_id>/progress/", views.progress, name="progress"),
    path("packs/<uuid:pack_id>/cancel/", views.cancel, name="cancel"),
    path("packs/<uuid:pack_id>/file/", views.file, name="file"),
]

from django.urls import path

from haccp.reports import tracing_views
from haccp.reports.views import fingerprints, packs, papers, tables

app_name = "reports"
urlpatterns = [
    path("plan/<uuid:revision_id>/pdf/", papers.plan, {"sheet": "all"}, name="plan_pdf"),
    path("plan/<uuid:revision_id>/pdf/<slug:sheet>/", papers.plan, name="paper_plan"),
    path("trace/<uuid:lot_id>/pdf/", tracing_views.trace_pdf, name="trace_pdf"),
    path("recalls/<uuid:recall_id>/pdf/", tracing_views.recall_pdf, name="recall_pdf"),
    path("packs/", packs.packs, name="packs"),
    path("packs/<uuid:pack_id>/", packs.pack, name="pack"),
    path("packs/<uuid:pack_id>/progress/", packs.progress, name="progress"),
    path("packs/<uuid:pack_id>/cancel/", packs.cancel, name="cancel"),
    path("packs/<uuid:pack_id>/file/", packs.file, name="file"),
    path("tables/", tables.listing, name="tables"),
    path("tables/<slug:table>/<slug:filetype>/", tables.table, name="table"),
    path("papers/fingerprints/", fingerprints.fingerprints, name="fingerprints"),
    path("papers/", papers.listing, name="papers"),
    path("papers/batch/<uuid:lot_id>/", papers.batch, name="paper_batch"),
    path("papers/deviation/<uuid:deviation_id>/", papers.deviation, name="paper_deviation"),
    path("papers/day/<day:day>/", papers.day, name="paper_day"),
    path("papers/calibration/<uuid:calibration_id>/", papers.calibration, name="paper_calibration"),
    path("papers/cleaning/", papers.cleaning, name="paper_cleaning"),
    path("papers/forms/", papers.forms, name="paper_forms"),
    path("papers/forms/<uuid:check_id>/", papers.forms, name="paper_form"),
]

from django.urls import path

from batches.making import views

app_name = "making"
urlpatterns = [
    path("makes/", views.make_list, name="list"),
    path("makes/new/", views.make_new, name="new"),
    path("batches/<uuid:lot_id>/", views.batch, name="batch"),
    path("batches/<uuid:lot_id>/event/", views.event, name="event"),
    path("batches/<uuid:lot_id>/event/<uuid:event_id>/", views.event_time, name="event_time"),
    path("batches/<uuid:lot_id>/sheet/", views.sheet, name="sheet"),
    path("batches/<uuid:lot_id>/sheet/<uuid:stage_id>/", views.stage, name="stage"),
    path("batches/<uuid:lot_id>/heat/<uuid:record_id>/", views.heat, name="heat"),
    path("batches/<uuid:lot_id>/phosphatase/", views.phosphatase, name="phosphatase"),
    path("batches/<uuid:lot_id>/weigh/", views.weigh, name="weigh"),
    path("brines/", views.brines, name="brines"),
    path("brines/new/", views.brine_new, name="brine_new"),
    path("brines/<uuid:brine_id>/", views.brine, name="brine"),
    path("brines/<uuid:brine_id>/batch/", views.brine_lay_in, name="brine_lay_in"),
    path("brines/<uuid:brine_id>/refresh/", views.brine_refresh, name="brine_refresh"),
    path("brines/<uuid:brine_id>/discard/", views.brine_discard, name="brine_discard"),
    path("procedures/", views.procedures, name="procedures"),
    path("procedures/<uuid:product_id>/", views.procedure, name="procedure"),
    path("procedures/<uuid:product_id>/draft/", views.draft_new, name="draft_new"),
    path("procedures/drafts/<uuid:procedure_id>/", views.draft, name="draft"),
    path("procedures/drafts/<uuid:procedure_id>/new/", views.draft_stage_new, name="draft_stage_new"),
    path("procedures/drafts/<uuid:procedure_id>/<uuid:stage_id>/", views.draft_stage, name="draft_stage"),
]

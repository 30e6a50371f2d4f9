from django.urls import path

from haccp.plan import views

app_name = "plan"
urlpatterns = [
    path("plan/", views.plan, name="plan"),
    path("plan/copy/", views.copy, name="copy"),
    path("plan/answers/", views.answers, name="answers"),
    path("plan/file/", views.take_in, name="take_in"),
    path("plan/review/", views.review, name="review"),
    path("plan/review/record/", views.review_record, name="review_record"),
    path("plan/review/occasion/", views.occasion, name="occasion"),
    path("plan/<uuid:revision_id>/", views.workspace, name="workspace"),
    path("plan/<uuid:revision_id>/findings/", views.findings, name="findings"),
    path("plan/<uuid:revision_id>/differences/", views.differences, name="differences"),
    path("plan/<uuid:revision_id>/approval/", views.approval, name="approval"),
    path("plan/<uuid:revision_id>/approve/", views.approve, name="approve"),
    path("plan/<uuid:revision_id>/batches/", views.batches, name="batches"),
    path("plan/<uuid:revision_id>/export/", views.export, name="export"),
    path("plan/<uuid:revision_id>/settings/", views.settings, name="settings"),
    path("plan/<uuid:revision_id>/confirm/", views.confirm, name="confirm"),
    path("plan/<uuid:revision_id>/answer/", views.answer_questions, name="answer_questions"),
    path("plan/<uuid:revision_id>/answers/", views.answers_add, name="answers_add"),
    path("plan/<uuid:revision_id>/discard/", views.discard, name="discard"),
    path("plan/<uuid:revision_id>/restore/", views.restore, name="restore"),
    path("plan/<uuid:revision_id>/cheese/", views.product_add, name="product_add"),
    path("plan/<uuid:revision_id>/cheese/<uuid:product_id>/retire/", views.product_retire, name="product_retire"),
    path("plan/<uuid:revision_id>/cheese/<uuid:product_id>/restore/", views.product_restore, name="product_restore"),
    path("plan/<uuid:revision_id>/tree/<uuid:hazard_id>/", views.tree, name="tree"),
    path("plan/<uuid:revision_id>/<slug:section>/", views.section, name="section"),
    path("plan/<uuid:revision_id>/<slug:section>/add/<slug:kind>/", views.part_add, name="part_add"),
    path("plan/<uuid:revision_id>/<slug:section>/<uuid:part_id>/", views.part_change, name="part_change"),
    path("plan/<uuid:revision_id>/<slug:section>/<uuid:part_id>/remove/", views.part_remove, name="part_remove"),
]

from django.urls import path

from batches.laboratory import api

urlpatterns = [
    path("samples/", api.Samples.as_view()),
    path("samples/<uuid:sample_id>/", api.SampleDetail.as_view()),
    path("samples/tests/<uuid:test_id>/results/", api.Results.as_view()),
]

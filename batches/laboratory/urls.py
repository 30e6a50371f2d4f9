from django.urls import path

from batches.laboratory import views

app_name = "laboratory"
urlpatterns = [
    path("samples/", views.sample_list, name="list"),
    path("samples/new/", views.sample_new, name="new"),
    path("samples/trend/", views.trend, name="trend"),
    path("samples/<uuid:sample_id>/", views.sample, name="sample"),
    path("samples/tests/<uuid:test_id>/result/", views.result, name="result"),
]

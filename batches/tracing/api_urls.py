from django.urls import path

from batches.tracing import api

urlpatterns = [path("lots/<uuid:pk>/trace/", api.LotTrace.as_view())]

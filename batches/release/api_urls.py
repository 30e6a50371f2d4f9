from django.urls import path

from batches.release import api

urlpatterns = [path("makes/<uuid:pk>/release/", api.BatchGate.as_view())]

from django.urls import path

from batches.making import views

app_name = "making"
urlpatterns = [
    path("makes/", views.make_list, name="list"),
    path("makes/new/", views.make_new, name="new"),
    path("batches/<uuid:lot_id>/", views.batch, name="batch"),
    path("batches/<uuid:lot_id>/event/", views.event, name="event"),
]

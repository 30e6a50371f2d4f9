from django.urls import path

from batches.intake import views

app_name = "intake"
urlpatterns = [
    path("milk/", views.milk_list, name="list"),
    path("milk/new/", views.milk_new, name="new"),
    path("milk/<uuid:lot_id>/", views.milk_detail, name="detail"),
]

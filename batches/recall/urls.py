from django.urls import path

from batches.recall import views

app_name = "recall"
urlpatterns = [
    path("recalls/", views.recall_list, name="list"),
    path("recalls/start/", views.start, name="start"),
    path("recalls/records.xlsx", views.key_data_sheet, name="key_data"),
    path("recalls/records.jsonld", views.epcis, name="epcis"),
    path("recalls/<uuid:recall_id>/", views.recall, name="recall"),
    path("recalls/<uuid:recall_id>/finish/", views.finish, name="finish"),
    path("recalls/<uuid:recall_id>/reached/<uuid:customer_id>/", views.reached, name="reached"),
]

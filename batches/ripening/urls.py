from django.urls import path

from batches.ripening import views

app_name = "ripening"
urlpatterns = [
    path("rooms/", views.room_list, name="rooms"),
    path("rooms/<uuid:place_id>/", views.room, name="room"),
    path("batches/<uuid:lot_id>/room/", views.place, name="place"),
]

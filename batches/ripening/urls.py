from django.urls import path

from batches.ripening import views

app_name = "ripening"
urlpatterns = [
    path("rooms/", views.room_list, name="rooms"),
    path("rooms/care/", views.rhythms, name="rhythms"),
    path("rooms/<uuid:place_id>/", views.room, name="room"),
    path("rooms/<uuid:place_id>/care/", views.care_for_room, name="care_for_room"),
    path("rooms/<uuid:place_id>/read/", views.read, name="read"),
    path("rooms/<uuid:place_id>/climate/", views.year, name="year"),
    path("rooms/<uuid:place_id>/logger/", views.logger_upload, name="logger"),
    path("rooms/<uuid:place_id>/logger/<uuid:trace_id>/", views.logger_confirm, name="logger_confirm"),
    path("batches/<uuid:lot_id>/room/", views.place, name="place"),
    path("batches/<uuid:lot_id>/care/", views.care_for_batch, name="care_for_batch"),
    path("batches/<uuid:lot_id>/growth/", views.growth, name="growth"),
    path("batches/<uuid:lot_id>/wheels/weigh/", views.weigh, name="weigh"),
]

from django.urls import path

from haccp.notices.views import notices

app_name = "notices"
urlpatterns = [
    path("notices/", notices.notices, name="notices"),
    path("notices/calendar/", notices.calendar_make, name="calendar_make"),
    path("notices/calendar/revoke/", notices.calendar_revoke, name="calendar_revoke"),
    path("notices/devices/", notices.push_add, name="push_add"),
    path("notices/devices/<uuid:push_device_id>/end/", notices.push_end, name="push_end"),
    path("notices/take/<uuid:deviation_id>/", notices.take, name="take"),
    path("calendar-feed/<str:token>.ics", notices.calendar_feed, name="feed"),
    path("service-worker.js", notices.service_worker, name="service_worker"),
]

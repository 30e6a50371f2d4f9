from django.urls import path

from haccp.premises import views

app_name = "premises"
urlpatterns = [
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("choose/", views.choose, name="choose"),
    path("preferences/", views.preferences, name="preferences"),
    path("devices/", views.devices, name="devices"),
    path("devices/<uuid:device_id>/revoke/", views.device_revoke, name="device_revoke"),
]

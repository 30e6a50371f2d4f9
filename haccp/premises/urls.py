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
    path("dairy/", views.dairy, name="dairy"),
    path("dairy/details/", views.details, name="details"),
    path("dairy/places/add/", views.place_add, name="place_add"),
    path("dairy/places/<uuid:place_id>/", views.place_change, name="place_change"),
    path("dairy/places/<uuid:place_id>/move/", views.place_move, name="place_move"),
    path("dairy/places/<uuid:place_id>/retire/", views.place_retire, name="place_retire"),
    path("dairy/places/<uuid:place_id>/restore/", views.place_restore, name="place_restore"),
    path("dairy/instruments/add/", views.instrument_add, name="instrument_add"),
    path("dairy/instruments/<uuid:instrument_id>/", views.instrument_change, name="instrument_change"),
    path("dairy/instruments/<uuid:instrument_id>/retire/", views.instrument_retire, name="instrument_retire"),
    path("dairy/instruments/<uuid:instrument_id>/restore/", views.instrument_restore, name="instrument_restore"),
]

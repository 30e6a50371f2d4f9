from django.urls import path

from batches.hygiene.views import cleaning, methods, swabs

app_name = "hygiene"
urlpatterns = [
    path("hygiene/", cleaning.overview, name="overview"),
    path("hygiene/clean/<uuid:method_id>/", cleaning.clean, name="clean"),
    path("hygiene/use/<uuid:lot_id>/", cleaning.use, name="use"),
    path("hygiene/methods/", methods.methods, name="methods"),
    path("hygiene/methods/add/<uuid:place_id>/", methods.method_add, name="method_add"),
    path("hygiene/methods/<uuid:method_id>/", methods.method_change, name="method_change"),
    path("hygiene/chemicals/", methods.chemicals, name="chemicals"),
    path("hygiene/chemicals/add/", methods.chemical_add, name="chemical_add"),
    path("hygiene/chemicals/<uuid:chemical_id>/lot/", methods.chemical_lot_add, name="chemical_lot_add"),
    path("hygiene/swabs/", swabs.swabs, name="swabs"),
    path("hygiene/swabs/send/", swabs.swabs_send, name="swabs_send"),
    path("hygiene/swabs/points/add/", swabs.point_add, name="point_add"),
    path("hygiene/swabs/rota/", swabs.rota_set, name="rota_set"),
    path("hygiene/swabs/take/<uuid:point_id>/", swabs.swab_take, name="swab_take"),
    path("hygiene/swabs/<uuid:swab_id>/", swabs.swab, name="swab"),
    path("hygiene/swabs/<uuid:swab_id>/result/", swabs.swab_result, name="swab_result"),
]

from django.urls import path

from batches.stock import views

app_name = "stock"
urlpatterns = [
    path("stock/", views.stock_list, name="list"),
    path("stock/items/<uuid:item_id>/", views.item, name="item"),
    path("stock/items/<uuid:item_id>/event/", views.item_event, name="item_event"),
    path("stock/items/<uuid:item_id>/cut/", views.item_cut, name="item_cut"),
    path("batches/<uuid:lot_id>/stock/", views.batch_stock, name="batch"),
    path("batches/<uuid:lot_id>/stock/add/", views.items_add, name="add"),
    path("batches/<uuid:lot_id>/labels.pdf", views.batch_label, name="batch_label"),
    path("dispatches/", views.dispatch_list, name="dispatches"),
    path("dispatches/new/", views.dispatch_new, name="dispatch_new"),
    path("dispatches/<uuid:dispatch_id>/", views.dispatch, name="dispatch"),
    path("dispatches/<uuid:dispatch_id>/back/", views.dispatch_back, name="dispatch_back"),
    path("arrivals/", views.arrival_list, name="arrivals"),
    path("arrivals/<uuid:arriving_id>/", views.arriving, name="arriving"),
    path("customers/", views.customer_list, name="customers"),
    path("customers/new/", views.customer_new, name="customer_new"),
    path("customers/<uuid:customer_id>/", views.customer, name="customer"),
    path("counter/", views.counter, name="counter"),
    path("labels/", views.label_list, name="labels"),
    path("labels/numbers/", views.numbers, name="numbers"),
    path("labels/places/<uuid:place_id>.pdf", views.place_label, name="place_label"),
    path("labels/instruments/<uuid:instrument_id>.pdf", views.instrument_label, name="instrument_label"),
    path("id/<path:rest>", views.scanned, name="scanned"),
]

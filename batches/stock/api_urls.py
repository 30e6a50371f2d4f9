from django.urls import path

from batches.stock import api

urlpatterns = [
    path("stock-items/", api.StockItems.as_view()),
    path("customers/", api.Customers.as_view()),
    path("dispatches/", api.Dispatches.as_view()),
]

from django.urls import path

from batches.stock import api

urlpatterns = [
    path("stock-items/", api.StockItems.as_view()),
    path("customers/", api.Customers.as_view()),
    path("dispatches/", api.Dispatches.as_view()),
    path("dispatches/<uuid:pk>/returns/", api.Returns.as_view()),
    path("arriving/", api.Arriving.as_view()),
    path("arrivals/", api.Arrivals.as_view()),
]

from django.urls import path

from batches.intake import views

app_name = "intake"
urlpatterns = [
    path("milk/", views.milk_list, name="list"),
    path("milk/new/", views.milk_new, name="new"),
    path("milk/counts/", views.counts, name="counts"),
    path("milk/counts/new/", views.count_new, name="count_new"),
    path("milk/counts/<uuid:count_id>/", views.count_correct, name="count_correct"),
    path("milk/<uuid:lot_id>/", views.milk_detail, name="detail"),
    path("milk/<uuid:lot_id>/finding/", views.finding, name="finding"),
    path("milk/<uuid:lot_id>/cooling/", views.cooling, name="cooling"),
    path("milk/<uuid:lot_id>/cooling/file/", views.cooling_file, name="cooling_file"),
    path("lots/<uuid:lot_id>/decide/", views.decide, name="decide"),
    path("suppliers/", views.suppliers, name="suppliers"),
    path("suppliers/new/", views.supplier_new, name="supplier_new"),
    path("suppliers/<uuid:supplier_id>/", views.supplier, name="supplier"),
    path("suppliers/<uuid:supplier_id>/retire/", views.supplier_retire, name="supplier_retire"),
    path("ingredients/", views.ingredients, name="ingredients"),
    path("ingredients/new/", views.ingredient_new, name="ingredient_new"),
    path("ingredients/<uuid:lot_id>/", views.ingredient, name="ingredient"),
    path("ingredients/<uuid:lot_id>/stock/", views.stock, name="stock"),
]

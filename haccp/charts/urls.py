from django.urls import path

from haccp.charts import views

app_name = "charts"
urlpatterns = [path("charts/", views.charts, name="charts")]

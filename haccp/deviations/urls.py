from django.urls import URLPattern

app_name = "deviations"
urlpatterns: list[URLPattern] = []

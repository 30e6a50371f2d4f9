from django.urls import URLPattern

app_name = "checks"
urlpatterns: list[URLPattern] = []

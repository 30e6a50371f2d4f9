from django.urls import URLPattern

app_name = "making"
urlpatterns: list[URLPattern] = []

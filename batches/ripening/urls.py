from django.urls import URLPattern

app_name = "ripening"
urlpatterns: list[URLPattern] = []

from django.urls import path

from haccp.plan import views

app_name = "plan"
urlpatterns = [path("plan/", views.plan, name="plan")]

from django.apps import AppConfig


class PlanConfig(AppConfig):
    name = "haccp.plan"
    label = "plan"

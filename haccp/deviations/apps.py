from django.apps import AppConfig


class DeviationsConfig(AppConfig):
    name = "haccp.deviations"
    label = "deviations"

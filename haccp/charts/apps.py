from django.apps import AppConfig


class ChartsConfig(AppConfig):
    name = "haccp.charts"
    label = "charts"

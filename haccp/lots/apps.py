from django.apps import AppConfig


class LotsConfig(AppConfig):
    name = "haccp.lots"
    label = "lots"

from django.apps import AppConfig


class KeepingConfig(AppConfig):
    name = "haccp.keeping"
    label = "keeping"

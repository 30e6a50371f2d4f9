from django.apps import AppConfig


class ChecksConfig(AppConfig):
    name = "haccp.checks"
    label = "checks"

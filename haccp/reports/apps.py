from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "haccp.reports"
    label = "reports"

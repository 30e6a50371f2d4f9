from django.apps import AppConfig


class IntakeConfig(AppConfig):
    name = "batches.intake"
    label = "intake"

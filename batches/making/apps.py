from django.apps import AppConfig


class MakingConfig(AppConfig):
    name = "batches.making"
    label = "making"

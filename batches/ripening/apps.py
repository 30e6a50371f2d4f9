from django.apps import AppConfig


class RipeningConfig(AppConfig):
    name = "batches.ripening"
    label = "ripening"

from django.apps import AppConfig


class LaboratoryConfig(AppConfig):
    name = "batches.laboratory"
    label = "laboratory"

    def ready(self) -> None:
        from batches.laboratory import sealing

        sealing.register()

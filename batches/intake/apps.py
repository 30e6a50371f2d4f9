from django.apps import AppConfig


class IntakeConfig(AppConfig):
    name = "batches.intake"
    label = "intake"

    def ready(self) -> None:
        from batches.intake import sealing

        sealing.register()

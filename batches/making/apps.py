from django.apps import AppConfig


class MakingConfig(AppConfig):
    name = "batches.making"
    label = "making"

    def ready(self) -> None:
        from batches.making import sealing

        sealing.register()

from django.apps import AppConfig


class LotsConfig(AppConfig):
    name = "haccp.lots"
    label = "lots"

    def ready(self) -> None:
        from haccp.lots import sealing

        sealing.register()

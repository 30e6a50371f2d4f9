from django.apps import AppConfig


class ChecksConfig(AppConfig):
    name = "haccp.checks"
    label = "checks"

    def ready(self) -> None:
        from haccp.checks import sealing

        sealing.register()

from django.apps import AppConfig


class NoticesConfig(AppConfig):
    name = "haccp.notices"
    label = "notices"

    def ready(self) -> None:
        from haccp.notices import sealing

        sealing.register()

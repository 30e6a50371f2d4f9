from django.apps import AppConfig


class AccessConfig(AppConfig):
    name = "haccp.access"
    label = "access"

    def ready(self) -> None:
        from haccp.access import sealing, sessions

        sealing.register()
        sessions.register()

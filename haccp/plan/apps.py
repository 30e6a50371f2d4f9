from django.apps import AppConfig


class PlanConfig(AppConfig):
    name = "haccp.plan"
    label = "plan"

    def ready(self) -> None:
        from haccp.plan import sealing

        sealing.register()

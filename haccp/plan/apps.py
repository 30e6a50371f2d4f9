from django.apps import AppConfig


class PlanConfig(AppConfig):
    name = "haccp.plan"
    label = "plan"

    def ready(self) -> None:
        from haccp.plan import places, sealing

        sealing.register()
        places.register()

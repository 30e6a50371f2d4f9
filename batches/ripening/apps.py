from django.apps import AppConfig


class RipeningConfig(AppConfig):
    name = "batches.ripening"
    label = "ripening"

    def ready(self) -> None:
        from batches.ripening import panels, sealing

        sealing.register()
        panels.add_panels()

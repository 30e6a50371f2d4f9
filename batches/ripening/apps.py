from django.apps import AppConfig


class RipeningConfig(AppConfig):
    name = "batches.ripening"
    label = "ripening"

    def ready(self) -> None:
        from batches.ripening import panels

        panels.add_panels()

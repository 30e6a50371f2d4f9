from django.apps import AppConfig


class RipeningConfig(AppConfig):
    name = "batches.ripening"
    label = "ripening"

    def ready(self) -> None:
        from batches.ripening import in_doubt, panels, sealing
        from haccp.calibration import resting

        sealing.register()
        resting.register(in_doubt.AIR, in_doubt.air_read_with)
        resting.register(in_doubt.LOGGER, in_doubt.logged_with)
        resting.register(in_doubt.WEIGHING, in_doubt.weighed_with)
        panels.add_panels()

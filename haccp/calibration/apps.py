from django.apps import AppConfig


class CalibrationConfig(AppConfig):
    name = "haccp.calibration"
    label = "calibration"

    def ready(self) -> None:
        from haccp.calibration import queries, sealing
        from haccp.checks import remarks

        sealing.register()
        remarks.register("calibration", queries.remarks_on)

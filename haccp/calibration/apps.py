from django.apps import AppConfig


class CalibrationConfig(AppConfig):
    name = "haccp.calibration"
    label = "calibration"

    def ready(self) -> None:
        from haccp.calibration import in_force, queries, sealing
        from haccp.checks import doubts, reliability, remarks

        sealing.register()
        reliability.register("calibration", in_force.standing)
        doubts.register("calibration", queries.doubtful_records)
        remarks.register("calibration", queries.remarks_on)
        remarks.register("electrode", in_force.remarks_on)

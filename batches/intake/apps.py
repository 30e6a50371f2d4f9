from django.apps import AppConfig


class IntakeConfig(AppConfig):
    name = "batches.intake"
    label = "intake"

    def ready(self) -> None:
        from batches.intake import in_doubt, sealing
        from haccp.calibration import resting

        sealing.register()
        resting.register(in_doubt.MILK, in_doubt.findings_read_with)

from django.apps import AppConfig


class LaboratoryConfig(AppConfig):
    name = "batches.laboratory"
    label = "laboratory"

    def ready(self) -> None:
        from batches.laboratory import consequences, sealing
        from haccp.deviations.models import Deviation
        from haccp.deviations.reach import register_newcomers

        sealing.register()
        register_newcomers(Deviation.Cause.LABORATORY, consequences.newcomers)

from django.apps import AppConfig


class MakingConfig(AppConfig):
    name = "batches.making"
    label = "making"

    def ready(self) -> None:
        from batches.making import in_doubt, sealing
        from haccp.calibration import resting

        sealing.register()
        resting.register(in_doubt.STAGE, in_doubt.readings_read_with)
        resting.register(in_doubt.BESIDE_RECORDER, in_doubt.thermometers_read_with)

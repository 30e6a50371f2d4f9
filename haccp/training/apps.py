from django.apps import AppConfig


class TrainingConfig(AppConfig):
    name = "haccp.training"
    label = "training"

    def ready(self) -> None:
        from haccp.checks import other_work
        from haccp.training import queries, sealing

        sealing.register()
        other_work.register_source("training that ends", queries.ending_soon)

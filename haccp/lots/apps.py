from django.apps import AppConfig


class LotsConfig(AppConfig):
    name = "haccp.lots"
    label = "lots"

    def ready(self) -> None:
        from haccp.lots import queries, sealing
        from haccp.plan import consequences

        sealing.register()
        consequences.register(in_progress=queries.batches_before_approval)

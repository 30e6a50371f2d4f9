from django.apps import AppConfig


class TracingConfig(AppConfig):
    name = "batches.tracing"
    label = "tracing"

    def ready(self) -> None:
        from batches.making import panels
        from batches.making import whey as making_whey
        from batches.tracing import panel, sealing, whey

        sealing.register()
        panels.register("trace", panel.trace_panel)
        making_whey.register("tracing", whey.whey_left)

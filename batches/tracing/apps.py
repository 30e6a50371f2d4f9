from django.apps import AppConfig


class TracingConfig(AppConfig):
    name = "batches.tracing"
    label = "tracing"

    def ready(self) -> None:
        from batches.making import panels
        from batches.tracing import panel, sealing

        sealing.register()
        panels.register("trace", panel.trace_panel)

from django.apps import AppConfig


class ReleaseConfig(AppConfig):
    name = "batches.release"
    label = "release"

    def ready(self) -> None:
        from batches.making import panels
        from batches.release import panel, sealing

        sealing.register()
        panels.register("release", panel.release_panel)

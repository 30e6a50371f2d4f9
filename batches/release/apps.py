from django.apps import AppConfig


class ReleaseConfig(AppConfig):
    name = "batches.release"
    label = "release"

    def ready(self) -> None:
        from batches.making import panels
        from batches.release import contributors, hygiene_points, instrument_points, panel, queries, sealing
        from haccp.checks import daybook

        sealing.register()
        contributors.register_point("cleaning", hygiene_points.cleaning)
        contributors.register_point("instruments", instrument_points.in_doubt)
        contributors.register_point("before release", hygiene_points.before_release)
        panels.register("release", panel.release_panel)
        daybook.register_section(queries.day_section)

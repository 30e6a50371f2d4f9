from django.apps import AppConfig


class RecallConfig(AppConfig):
    name = "batches.recall"
    label = "recall"

    def ready(self) -> None:
        from batches.recall import queries, sealing
        from haccp.checks import daybook, other_work

        sealing.register()
        other_work.register_source("recall exercise", queries.exercise_due)
        daybook.register_section(queries.day_section)

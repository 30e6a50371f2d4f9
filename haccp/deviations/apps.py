from django.apps import AppConfig


class DeviationsConfig(AppConfig):
    name = "haccp.deviations"
    label = "deviations"

    def ready(self) -> None:
        from haccp.checks import consequences, daybook, other_work
        from haccp.deviations import actions, queries, sealing
        from haccp.deviations.actions.implicate import after_move
        from haccp.lots import moves
        from haccp.plan import occasions

        sealing.register()
        consequences.register(after_record=actions.after_record, after_missed=actions.after_missed)
        daybook.register_section(queries.day_section)
        other_work.register_source("tasks of deviations", queries.tasks_to_do)
        occasions.register(queries.trends)
        moves.register(after_move)

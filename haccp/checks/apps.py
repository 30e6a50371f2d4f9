from django.apps import AppConfig


class ChecksConfig(AppConfig):
    name = "haccp.checks"
    label = "checks"

    def ready(self) -> None:
        from haccp.checks import actions, sealing
        from haccp.checks.cover import uncovered_for_plan
        from haccp.plan import consequences

        sealing.register()
        consequences.register(
            after_approval=actions.after_approval, after_review=actions.after_review, uncovered=uncovered_for_plan
        )

from django.apps import AppConfig


class HygieneConfig(AppConfig):
    name = "batches.hygiene"
    label = "hygiene"

    def ready(self) -> None:
        from batches.hygiene import actions, cleanliness, finds, queries, sealing
        from batches.laboratory import kept_elsewhere
        from haccp.checks import daybook, entry_pages
        from haccp.deviations import cleaned
        from haccp.deviations.models import Deviation
        from haccp.deviations.reach import register_newcomers

        sealing.register()
        cleaned.register(cleanliness.cleanings_of)
        register_newcomers(Deviation.Cause.BY_HAND, finds.newcomers)
        kept_elsewhere.register(actions.keep_test_result)
        entry_pages.register(queries.page_for)
        daybook.register_section(queries.day_section)

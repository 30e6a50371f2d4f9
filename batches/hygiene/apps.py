from django.apps import AppConfig


class HygieneConfig(AppConfig):
    name = "batches.hygiene"
    label = "hygiene"

    def ready(self) -> None:
        from batches.hygiene import queries, sealing
        from haccp.checks import daybook, entry_pages

        sealing.register()
        entry_pages.register(queries.page_for)
        daybook.register_section(queries.day_section)

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "haccp.reports"
    label = "reports"

    def ready(self) -> None:
        from haccp.ledger import sealed_kinds
        from haccp.reports import sealing

        sealed_kinds.register(sealing.KIND, fetch_bodies=sealing.pack_bodies, all_subjects=sealing.all_subjects)

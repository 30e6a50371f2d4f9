from django.apps import AppConfig


class ChecksConfig(AppConfig):
    name = "haccp.checks"
    label = "checks"

    def ready(self) -> None:
        from haccp.checks.sealing import record_bodies
        from haccp.ledger import sealed_kinds

        for kind in ("record.saved", "record.amended"):
            sealed_kinds.register(kind, fetch_bodies=record_bodies)

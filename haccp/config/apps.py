from django.apps import AppConfig


class ConfigConfig(AppConfig):
    name = "haccp.config"
    label = "config"

    def ready(self) -> None:
        # The Celery app must exist before any shared_task is called; haccp/__init__.py stays empty so that
        # importing haccp.science loads neither Celery nor Django.
        from haccp.config import celery  # noqa: F401

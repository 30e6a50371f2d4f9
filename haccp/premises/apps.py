from django.apps import AppConfig


class PremisesConfig(AppConfig):
    name = "haccp.premises"
    label = "premises"

    def ready(self) -> None:
        from haccp.premises import api_schema  # noqa: F401  (registers the authentication schemes)

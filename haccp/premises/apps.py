from django.apps import AppConfig


class PremisesConfig(AppConfig):
    name = "haccp.premises"
    label = "premises"

    def ready(self) -> None:
        from haccp.premises import api_schema, sealing  # noqa: F401  (api_schema registers the authentication schemes)

        sealing.register()

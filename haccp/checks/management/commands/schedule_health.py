"""`manage.py schedule_health`: exit code 1, with a sentence, when the sweep of due checks has stopped."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from haccp.checks.queries import schedule_patience_s, schedule_stopped_since


class Command(BaseCommand):
    help = "Says whether the sweep of due checks still runs; for health checks."

    def handle(self, *args: Any, **options: Any) -> None:
        since = schedule_stopped_since(now=timezone.now(), allowed_s=schedule_patience_s())
        if since is not None:
            raise CommandError(
                f"The sweep of due checks last ran at {since:%Y-%m-%d %H:%M} UTC. Start the worker and beat again."
            )
        self.stdout.write("The sweep of due checks runs.")

"""The ledger's wiring: what it seals itself, and what keeps the database's guards in place."""

from typing import Any

from django.apps import AppConfig
from django.core.checks import Tags, register
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.signals import connection_created
from django.db.models.signals import post_migrate, pre_migrate


class LedgerConfig(AppConfig):
    name = "haccp.ledger"
    label = "ledger"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from haccp.ledger import checks, personal, sealed_kinds, signatures

        sealed_kinds.register(
            signatures.KIND, fetch_bodies=signatures.fetch_bodies, all_subjects=signatures.all_subjects
        )
        personal.register()
        register(checks.guards_are_in_place, Tags.database)
        connection_created.connect(fire_triggers_of_replaced_rows)
        pre_migrate.connect(lift_guards, sender=self)
        post_migrate.connect(restore_guards, sender=self)


def fire_triggers_of_replaced_rows(connection: BaseDatabaseWrapper, **kwargs: Any) -> None:
    """Without this, SQLite's INSERT OR REPLACE deletes a sealed row and fires no trigger."""
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA recursive_triggers = ON")


def lift_guards(using: str, plan: list[Any] | None = None, **kwargs: Any) -> None:
    """SQLite rebuilds tables to alter them, which trips over triggers that name the table being rebuilt."""
    from haccp.ledger import triggers

    if plan and connections[using].vendor == "sqlite":
        triggers.lift(connections[using])


def restore_guards(using: str, **kwargs: Any) -> None:
    from haccp.ledger import triggers

    triggers.restore(connections[using])

"""Migration operations that make the database itself refuse to change what is sealed or frozen.

`RefuseChanges("ledger_entry")` in a migration puts triggers on that table, on SQLite and PostgreSQL, for raw SQL
too. The migrations are the one list of what is guarded: `declared` reads it back, `missing` compares it with the
database.

SQLite rebuilds a table to alter it, and a rebuilt table has lost its triggers; so they are lifted before the
migrations of a SQLite database and restored after them (apps.py connects that). A table that fills up through
`INSERT OR REPLACE` deletes rows without firing SQLite's delete triggers unless recursive triggers are on:
apps.py turns those on in each connection.
"""

import hashlib
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from django.db import transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.backends.utils import truncate_name
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.operations.base import Operation
from django.db.migrations.state import ProjectState

from haccp.ledger.errors import LedgerError

NAME_LENGTH = 63  # PostgreSQL's limit


class RefuseChangesWhen(Operation):
    """Refuse to update or delete the rows of `table` for which `condition_sql` holds.

    condition_sql: a boolean in SQL that both databases know, over the row as `OLD.column`; it may hold a subquery:
        `EXISTS (SELECT 1 FROM plan_revision r WHERE r.id = OLD.revision_id AND r.approved_at IS NOT NULL)`.
    refuse_insert: for the children of a frozen parent: refuse to add a row, or move one in, for which the condition
        holds with `NEW` in the place of `OLD`.
    allow_update_columns: columns that may still change in such a row.
    message: the sentence of the IntegrityError.
    PostgreSQL's TRUNCATE is refused whatever the condition.
    """

    reduces_to_sql = True
    reversible = True

    def __init__(
        self,
        table: str,
        condition_sql: str,
        refuse_insert: bool = False,
        allow_update_columns: Sequence[str] = (),
        message: str = "",
    ) -> None:
        self.table = table
        self.condition_sql = condition_sql
        self.refuse_insert = refuse_insert
        self.allow_update_columns = tuple(allow_update_columns)
        self.message = message

    @property
    def ending(self) -> str:
        """Tells the guards of one table apart: each has a condition of its own."""
        return "frozen_" + hashlib.sha256(self.condition_sql.encode()).hexdigest()[:6]

    @property
    def sentence(self) -> str:
        return self.message or f"This row of {self.table} is frozen: make a new version instead of changing it."

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        """Triggers are no part of the models' state."""

    def database_forwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        for statement in self.create_sql(schema_editor.connection):
            schema_editor.execute(statement, params=None)

    def database_backwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        for statement in self.drop_sql(schema_editor.connection):
            schema_editor.execute(statement, params=None)

    def describe(self) -> str:
        return f"Refuse changes to {self.table} where {self.condition_sql}"

    @property
    def migration_name_fragment(self) -> str:
        return f"{self.table}_{self.ending}"

    def triggers(self, connection: BaseDatabaseWrapper) -> dict[str, str]:
        """The events that this guard refuses, by the name of the trigger that refuses them."""
        events = ["update", "delete"]
        if self.refuse_insert:
            events.append("insert")
        if connection.vendor == "postgresql":
            events.append("truncate")
        return {truncate_name(f"{self.table}_{self.ending}_{event}", NAME_LENGTH): event for event in events}

    def create_sql(self, connection: BaseDatabaseWrapper) -> list[str]:
        """Statements that put the guard in place; those of `drop_sql` first, so that they may be repeated."""
        create = {"sqlite": _sqlite_trigger, "postgresql": _postgres_trigger}.get(connection.vendor)
        if create is None:
            raise LedgerError(f"{connection.display_name} cannot guard {self.table}: use SQLite or PostgreSQL.")
        statements = self.drop_sql(connection)
        for name, event in self.triggers(connection).items():
            statements += create(connection, self, name, event)
        return statements

    def drop_sql(self, connection: BaseDatabaseWrapper) -> list[str]:
        """Statements that take the guard away."""
        quote = connection.ops.quote_name
        names = self.triggers(connection)
        if connection.vendor == "postgresql":
            return [
                statement
                for name in names
                for statement in (
                    f"DROP TRIGGER IF EXISTS {quote(name)} ON {quote(self.table)}",
                    f"DROP FUNCTION IF EXISTS {quote(name)}()",
                )
            ]
        return [f"DROP TRIGGER IF EXISTS {quote(name)}" for name in names]

    def condition(self, connection: BaseDatabaseWrapper, event: str) -> str:
        """When the event is refused, in SQL over OLD and NEW."""
        frozen = f"({self.condition_sql})"
        joining = "(" + re.sub(r"\bOLD\.", "NEW.", self.condition_sql, flags=re.IGNORECASE) + ")"
        if event == "insert":
            return joining
        if event == "delete":
            return frozen
        if self.allow_update_columns:
            frozen = f"({frozen} AND {_other_columns_differ(connection, self.table, self.allow_update_columns)})"
        if self.refuse_insert:
            frozen = f"({frozen} OR (NOT {_null_is_false(self.condition_sql)} AND {joining}))"
        return frozen


class RefuseChanges(RefuseChangesWhen):
    """Refuse to update or delete any row of `table`; only `allow_update_columns` may change."""

    def __init__(self, table: str, allow_update_columns: Sequence[str] = (), message: str = "") -> None:
        super().__init__(table, "1 = 1", allow_update_columns=allow_update_columns, message=message)

    @property
    def ending(self) -> str:
        return "sealed"

    @property
    def sentence(self) -> str:
        return self.message or f"{self.table} is sealed: records are amended, never changed."

    def describe(self) -> str:
        return f"Refuse changes to {self.table}"


class WithdrawGuards(Operation):
    """Take away all guards of `table` for good: before a migration renames or removes it."""

    reduces_to_sql = False
    reversible = True

    def __init__(self, table: str) -> None:
        self.table = table

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        """Triggers are no part of the models' state."""

    def database_forwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        connection = schema_editor.connection
        for guard in declared(connection):
            if guard.table == self.table:
                for statement in guard.drop_sql(connection):
                    schema_editor.execute(statement, params=None)

    def database_backwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        """`restore` runs after every migrate, and finds the guards declared again."""

    def describe(self) -> str:
        return f"Withdraw the guards of {self.table}"


class LiftForRebuild(Operation):
    """Before an operation that alters a guarded table: SQLite rebuilds it, and trips over guards that name it.

    Nothing on PostgreSQL. `restore` puts every guard back at the end of the same migrate.
    """

    reduces_to_sql = False
    reversible = True

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        """Triggers are no part of the models' state."""

    def database_forwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        connection = schema_editor.connection
        if connection.vendor == "sqlite":
            with connection.cursor() as cursor:
                cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
                names = [name for (name,) in cursor.fetchall()]
            for name in names:
                schema_editor.execute(f"DROP TRIGGER {connection.ops.quote_name(name)}", params=None)

    def database_backwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        self.database_forwards(app_label, schema_editor, from_state, to_state)

    def describe(self) -> str:
        return "Lift the guards while SQLite rebuilds a table"


def _null_is_false(condition: str) -> str:
    return f"COALESCE(({condition}), 1 = 0)"


def _literal(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _sqlite_trigger(connection: BaseDatabaseWrapper, guard: RefuseChangesWhen, name: str, event: str) -> list[str]:
    quote = connection.ops.quote_name
    return [
        f"CREATE TRIGGER {quote(name)} BEFORE {event.upper()} ON {quote(guard.table)} FOR EACH ROW"
        f" WHEN {guard.condition(connection, event)}"
        f" BEGIN SELECT RAISE(ABORT, {_literal(guard.sentence)}); END"
    ]


def _postgres_trigger(connection: BaseDatabaseWrapper, guard: RefuseChangesWhen, name: str, event: str) -> list[str]:
    """The condition stands inside the function: PostgreSQL takes no subquery in a trigger's WHEN."""
    quote = connection.ops.quote_name
    refuse = f"RAISE EXCEPTION USING MESSAGE = {_literal(guard.sentence)}, ERRCODE = 'integrity_constraint_violation';"
    if event == "truncate":
        body = f"{refuse} RETURN NULL;"
    else:
        row = "OLD" if event == "delete" else "NEW"
        body = f"IF {guard.condition(connection, event)} THEN {refuse} END IF; RETURN {row};"
    return [
        f"CREATE FUNCTION {quote(name)}() RETURNS trigger LANGUAGE plpgsql AS $guard$ BEGIN {body} END $guard$",
        f"CREATE TRIGGER {quote(name)} BEFORE {event.upper()} ON {quote(guard.table)}"
        f" FOR EACH {'STATEMENT' if event == 'truncate' else 'ROW'} EXECUTE FUNCTION {quote(name)}()",
    ]


def _other_columns_differ(connection: BaseDatabaseWrapper, table: str, allowed: Sequence[str]) -> str:
    if connection.vendor == "postgresql":
        names = "ARRAY[" + ", ".join(_literal(column) for column in allowed) + "]::text[]"
        return f"(to_jsonb(NEW) - {names}) IS DISTINCT FROM (to_jsonb(OLD) - {names})"
    quote = connection.ops.quote_name
    with connection.cursor() as cursor:
        columns = [column.name for column in connection.introspection.get_table_description(cursor, table)]
    kept = [quote(column) for column in columns if column not in allowed]
    return "(" + " OR ".join(f"OLD.{column} IS NOT NEW.{column}" for column in kept) + ")"


def declared(connection: BaseDatabaseWrapper) -> list[RefuseChangesWhen]:
    """The guards of all migrations that this database has applied, less those withdrawn."""
    loader = MigrationLoader(connection)
    keys = dict.fromkeys(key for leaf in loader.graph.leaf_nodes() for key in loader.graph.forwards_plan(leaf))
    guards: list[RefuseChangesWhen] = []
    for key in keys:
        if key not in loader.applied_migrations:
            continue
        for operation in loader.graph.nodes[key].operations:
            if isinstance(operation, RefuseChangesWhen):
                guards.append(operation)
            elif isinstance(operation, WithdrawGuards):
                guards = [guard for guard in guards if guard.table != operation.table]
    return guards


def missing(connection: BaseDatabaseWrapper) -> list[RefuseChangesWhen]:
    """Declared guards of which a trigger is absent, or switched off."""
    present = _present(connection)
    return [guard for guard in declared(connection) if not present.issuperset(guard.triggers(connection))]


def _present(connection: BaseDatabaseWrapper) -> set[str]:
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled IN ('O', 'A')")
        else:
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        return {name for (name,) in cursor.fetchall()}


def lift(connection: BaseDatabaseWrapper) -> None:
    """Take every declared guard away: for a rebuild of SQLite's tables, and for tests that empty the database."""
    _execute(connection, [sql for guard in declared(connection) for sql in guard.drop_sql(connection)])


def restore(connection: BaseDatabaseWrapper) -> None:
    """Put back every declared guard that is missing. Errors: LedgerError where a guarded table is gone."""
    absent = missing(connection)
    tables = set(connection.introspection.table_names())
    for guard in absent:
        if guard.table not in tables:
            raise LedgerError(
                f"The migrations guard the table {guard.table}, which does not exist."
                " Put WithdrawGuards before the operation that renamed or removed it."
            )
    _execute(connection, [sql for guard in absent for sql in guard.create_sql(connection)])


@contextmanager
def lifted(connection: BaseDatabaseWrapper) -> Iterator[None]:
    """Every declared guard away, and back again."""
    lift(connection)
    try:
        yield
    finally:
        restore(connection)


def _execute(connection: BaseDatabaseWrapper, statements: list[str]) -> None:
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)

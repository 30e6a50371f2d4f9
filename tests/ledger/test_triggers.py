"""What the database itself refuses, for raw SQL too, and that migrations and tests put it back."""

from collections.abc import Iterator

import pytest
from django.core.checks import Tags, run_checks
from django.core.management.sql import emit_post_migrate_signal, emit_pre_migrate_signal
from django.db import IntegrityError, connection, migrations, models, transaction
from django.db.migrations.state import ProjectState

from haccp.ledger import actions, triggers
from haccp.ledger.errors import LedgerError
from haccp.ledger.models import Entry, Log
from haccp.ledger.triggers import RefuseChanges, RefuseChangesWhen, WithdrawGuards

from .conftest import NOON, Fill

SEALED = "is sealed: records are amended, never changed"


def execute(sql: str, *parameters: object) -> int:
    """Runs raw SQL in a savepoint of its own, so that a refusal leaves the test's transaction usable."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return int(cursor.rowcount)


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE ledger_entry SET body = '{}'",
        "UPDATE ledger_entry SET actor = actor",
        "DELETE FROM ledger_entry",
        "UPDATE ledger_signature SET statement = 'Something else'",
        "UPDATE ledger_signature SET name_reference = ''",
        "UPDATE ledger_personaltext SET commitment = 'x'",
        "DELETE FROM ledger_personaltext",
        "DELETE FROM ledger_signature",
        "UPDATE ledger_log SET key = 'other'",
        "UPDATE ledger_log SET size = 0, opened_at = '2020-01-01 00:00:00+00:00'",
    ],
)
def test_raw_sql_cannot_change_what_is_sealed(log: Log, sql: str) -> None:
    sign(log)
    with pytest.raises(IntegrityError, match=SEALED):
        execute(sql)


def sign(log: Log) -> None:
    actions.sign(
        log_id=log.pk,
        signer_id="7",
        printed_name="Ana Ruiz",
        meaning="reviewed",
        statement="Read.",
        content={"day": "2026-04-09"},
        method="password",
        at=NOON,
    )


def test_a_log_cannot_be_deleted(log: Log) -> None:
    with pytest.raises(IntegrityError, match=SEALED):
        execute("DELETE FROM ledger_log")


def test_models_cannot_change_what_is_sealed(fill: Fill) -> None:
    entry = fill(1)[0]
    entry.actor = "somebody else"
    with pytest.raises(IntegrityError, match=SEALED), transaction.atomic():
        entry.save()
    with pytest.raises(IntegrityError, match=SEALED), transaction.atomic():
        entry.delete()
    assert Entry.objects.get().actor.startswith("sha256:")


def test_a_sealed_row_cannot_be_replaced(log: Log, fill: Fill) -> None:
    entry = fill(1)[0]
    if connection.vendor == "sqlite":
        columns = 'id, log_id, "index", kind, subject, body, leaf_hash, subtrees, recorded_at, actor'
        forged = columns.replace("body", "'{}'")
        sql = f"INSERT OR REPLACE INTO ledger_entry ({columns}) SELECT {forged} FROM ledger_entry"
    else:
        sql = (
            "INSERT INTO ledger_log SELECT id, 'other', size, peaks, opened_at FROM ledger_log"
            " ON CONFLICT (id) DO UPDATE SET key = excluded.key"
        )
    with pytest.raises(IntegrityError, match=SEALED):
        execute(sql)
    assert Entry.objects.get().body == entry.body


@pytest.mark.postgres
def test_a_sealed_table_cannot_be_truncated(log: Log) -> None:
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has no TRUNCATE; set DATABASE_URL to a PostgreSQL database")
    for sql in ("TRUNCATE ledger_entry", "TRUNCATE ledger_log CASCADE"):
        with pytest.raises(IntegrityError, match=SEALED):
            execute(sql)


FROZEN = "EXISTS (SELECT 1 FROM shelf s WHERE s.id = OLD.shelf_id AND s.approved)"


@pytest.fixture
def shelf(db: None) -> Iterator[None]:
    """A parent that can be approved, and its children, with guards as a plan's migrations would declare them."""
    execute("CREATE TABLE shelf (id integer PRIMARY KEY, label varchar(20), note varchar(20), approved boolean)")
    execute("CREATE TABLE wheel (id integer PRIMARY KEY, shelf_id integer, mass_kg double precision)")
    guard(RefuseChangesWhen("shelf", "OLD.approved", allow_update_columns=["note"]))
    guard(RefuseChangesWhen("wheel", FROZEN, refuse_insert=True, message="The shelf is approved: begin a new one."))
    execute("INSERT INTO shelf VALUES (1, 'open', '', false), (2, 'draft', '', false), (3, NULL, NULL, NULL)")
    execute("INSERT INTO wheel VALUES (10, 1, 2.5), (20, 2, 2.5), (30, 3, 2.5), (40, NULL, 2.5)")
    execute("UPDATE shelf SET approved = true WHERE id = 2")
    return


def guard(operation: RefuseChangesWhen) -> None:
    for sql in operation.create_sql(connection):
        execute(sql)


@pytest.mark.usefixtures("shelf")
@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE wheel SET mass_kg = 3 WHERE id = 20",
        "UPDATE wheel SET shelf_id = 1 WHERE id = 20",
        "UPDATE wheel SET shelf_id = 2 WHERE id = 10",
        "UPDATE wheel SET shelf_id = 2 WHERE id = 40",
        "DELETE FROM wheel WHERE id = 20",
        "DELETE FROM wheel",
        "INSERT INTO wheel VALUES (21, 2, 1.0)",
    ],
)
def test_children_of_an_approved_parent_are_frozen(sql: str) -> None:
    with pytest.raises(IntegrityError, match="The shelf is approved: begin a new one"):
        execute(sql)


@pytest.mark.usefixtures("shelf")
@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE wheel SET mass_kg = 3 WHERE id = 10",
        "UPDATE wheel SET shelf_id = 3 WHERE id = 10",
        "UPDATE wheel SET mass_kg = 3 WHERE id = 40",
        "DELETE FROM wheel WHERE id = 30",
        "INSERT INTO wheel VALUES (11, 1, 1.0)",
        "UPDATE shelf SET approved = true WHERE id = 1",
        "UPDATE shelf SET label = 'x' WHERE id = 3",
        "UPDATE shelf SET note = 'superseded' WHERE id = 2",
        "DELETE FROM shelf WHERE id = 1",
    ],
)
def test_what_is_not_approved_stays_open(sql: str) -> None:
    assert execute(sql) == 1


@pytest.mark.usefixtures("shelf")
@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE shelf SET label = 'x' WHERE id = 2",
        "UPDATE shelf SET label = NULL, note = 'x' WHERE id = 2",
        "UPDATE shelf SET approved = false WHERE id = 2",
        "DELETE FROM shelf WHERE id = 2",
    ],
)
def test_an_approved_row_changes_only_where_it_may(sql: str) -> None:
    with pytest.raises(IntegrityError, match="This row of shelf is frozen: make a new version"):
        execute(sql)


def test_a_row_that_may_not_join_may_still_change_where_allowed(db: None) -> None:
    execute("CREATE TABLE lid (id integer PRIMARY KEY, note varchar(20), closed boolean)")
    execute("INSERT INTO lid VALUES (1, '', true), (2, '', NULL), (3, '', false)")
    guard(RefuseChangesWhen("lid", "OLD.closed", refuse_insert=True, allow_update_columns=["note"], message="Shut."))
    assert execute("UPDATE lid SET note = 'seen' WHERE id = 1") == 1
    assert execute("INSERT INTO lid VALUES (4, '', NULL), (5, '', false)") == 2
    for sql in (
        "UPDATE lid SET closed = NULL WHERE id = 1",
        "UPDATE lid SET closed = true WHERE id = 2",
        "UPDATE lid SET closed = true, note = 'x' WHERE id = 3",
        "INSERT INTO lid VALUES (6, '', true)",
    ):
        with pytest.raises(IntegrityError, match="Shut"):
            execute(sql)


@pytest.mark.usefixtures("shelf")
def test_a_guard_can_be_reversed_and_repeated() -> None:
    operation = RefuseChanges("wheel", message="Wheels don't change.")
    state = ProjectState()
    forwards = migrations.Migration("guard", "ledger")
    forwards.operations = [operation]
    for _ in range(2):
        guard(operation)
        with pytest.raises(IntegrityError, match="Wheels don't change"):
            execute("DELETE FROM wheel WHERE id = 10")
    for sql in operation.drop_sql(connection):
        execute(sql)
    assert execute("DELETE FROM wheel WHERE id = 10") == 1
    # Only that guard was taken away.
    with pytest.raises(IntegrityError, match="The shelf is approved"):
        execute("DELETE FROM wheel WHERE id = 20")
    assert forwards.mutate_state(state).models == {}


def test_migrations_are_the_list_of_what_is_guarded(db: None) -> None:
    ours = [guard for guard in triggers.declared(connection) if guard.table.startswith("ledger_")]
    assert [guard.table for guard in ours] == [
        "ledger_log",
        "ledger_entry",
        "ledger_signature",
        *["ledger_signedhead"] * 2,
        *["ledger_personaltext"] * 2,
    ]
    assert triggers.missing(connection) == []


def test_a_lost_trigger_is_reported_and_put_back(db: None) -> None:
    connection.check_constraints()
    triggers.lift(connection)
    assert {guard.table for guard in triggers.missing(connection)} >= {"ledger_entry", "ledger_signature"}
    reported = [
        message for message in run_checks(tags=[Tags.database], databases=["default"]) if message.id == "ledger.E001"
    ]
    assert "no longer refuses changes to ledger_entry" in " ".join(message.msg for message in reported)

    triggers.restore(connection)
    assert triggers.missing(connection) == []
    assert not [
        message for message in run_checks(tags=[Tags.database], databases=["default"]) if message.id == "ledger.E001"
    ]


@pytest.mark.postgres
def test_a_trigger_that_is_switched_off_is_missing(db: None) -> None:
    if connection.vendor != "postgresql":
        pytest.skip("SQLite cannot switch a trigger off; set DATABASE_URL to a PostgreSQL database")
    execute("ALTER TABLE ledger_entry DISABLE TRIGGER ledger_entry_sealed_delete")
    assert [guard.table for guard in triggers.missing(connection)] == ["ledger_entry"]


def test_a_guarded_table_that_is_gone_is_not_passed_over(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(triggers, "declared", lambda connection: [RefuseChanges("gone")])
    with pytest.raises(LedgerError, match=r"guard the table gone, which does not exist\. Put WithdrawGuards before"):
        triggers.restore(connection)


def test_guards_can_be_withdrawn_for_good(db: None) -> None:
    connection.check_constraints()

    class Editor:
        """Runs what a schema editor is given; SQLite's own cannot be opened inside a test's transaction."""

        def __init__(self) -> None:
            self.connection = connection

        def execute(self, sql: str, params: None = None) -> None:
            execute(sql)

    WithdrawGuards("ledger_signature").database_forwards("ledger", Editor(), None, None)  # type: ignore[arg-type]
    assert [guard.table for guard in triggers.missing(connection)] == ["ledger_signature"]


@pytest.mark.django_db(transaction=True)
def test_a_rebuilt_table_keeps_its_guards(monkeypatch: pytest.MonkeyPatch) -> None:
    """SQLite alters a table by copying it. The copy has no triggers until the migration is over, and the copying
    fails while a trigger of another table names the one that is copied.
    """
    naming = RefuseChangesWhen("ledger_signature", "EXISTS (SELECT 1 FROM ledger_entry e WHERE e.log_id = OLD.log_id)")
    migrated = [*triggers.declared(connection), naming]
    monkeypatch.setattr(triggers, "declared", lambda connection: migrated)
    triggers.restore(connection)
    assert triggers.missing(connection) == []

    wider = models.CharField(max_length=201)
    wider.set_attributes_from_name("actor")
    plan = [(migrations.Migration("widen", "ledger"), False)]
    as_it_was = Entry._meta.get_field("actor")
    emit_pre_migrate_signal(verbosity=0, interactive=False, db="default", plan=plan)
    with connection.schema_editor() as editor:
        editor.alter_field(Entry, as_it_was, wider)
        editor.alter_field(Entry, wider, as_it_was)
    lost = [guard.table for guard in triggers.missing(connection)]
    assert ("ledger_entry" in lost) == (connection.vendor == "sqlite")
    emit_post_migrate_signal(verbosity=0, interactive=False, db="default")
    assert triggers.missing(connection) == []
    for sql in naming.drop_sql(connection):
        execute(sql)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("turn", [1, 2])
def test_tests_that_commit_are_cleaned_up_after(turn: int) -> None:
    """The second turn finds the first one's log gone, and the guards in place."""
    assert not Log.objects.exists()
    assert triggers.missing(connection) == []
    log = actions.open_log(key="upper-dairy", at=NOON)
    with transaction.atomic():
        actions.seal(log_id=log.pk, kind="k", subject="s", body={}, actor="a", at=NOON)
    with pytest.raises(IntegrityError, match=SEALED):
        execute("DELETE FROM ledger_entry")

"""The tables that NewTables makes are those that Django's own operations make one by one."""

import pytest
from django.db import connection, migrations, models
from django.db.migrations.operations.base import Operation
from django.db.migrations.state import ProjectState

from haccp.new_tables import NewTables

pytestmark = pytest.mark.django_db(transaction=True)


def cellar(prefix: str) -> list[Operation]:
    """Two models that point at each other, an index, a constraint and a many-to-many."""
    return [
        migrations.CreateModel(
            "Shelf", [("id", models.AutoField(primary_key=True))], options={"db_table": f"{prefix}_shelf"}
        ),
        migrations.CreateModel(
            "Wheel",
            [
                ("id", models.AutoField(primary_key=True)),
                ("mass_kg", models.FloatField()),
                ("shelf", models.ForeignKey("cellar.Shelf", models.CASCADE)),
                ("neighbours", models.ManyToManyField("cellar.Wheel")),
            ],
            options={"db_table": f"{prefix}_wheel"},
        ),
        migrations.AddField("shelf", "last", models.ForeignKey("cellar.Wheel", models.CASCADE, null=True)),
        migrations.AddIndex("wheel", models.Index(fields=["mass_kg"], name=f"{prefix}_by_mass")),
        migrations.AddConstraint(
            "wheel", models.CheckConstraint(condition=models.Q(mass_kg__gt=0), name=f"{prefix}_mass")
        ),
    ]


def forwards(operations: list[Operation]) -> list[tuple[Operation, ProjectState, ProjectState]]:
    state = ProjectState()
    steps = []
    with connection.schema_editor() as editor:
        for operation in operations:
            before = state.clone()
            operation.state_forwards("cellar", state)
            operation.database_forwards("cellar", editor, before, state)
            steps.append((operation, before, state.clone()))
    return steps


def backwards(steps: list[tuple[Operation, ProjectState, ProjectState]]) -> None:
    with connection.schema_editor() as editor:
        for operation, before, after in reversed(steps):
            operation.database_backwards("cellar", editor, after, before)


def tables(prefix: str) -> dict[str, object]:
    """Columns and constraints of each table, without the prefix and the hashes in generated names."""
    found: dict[str, object] = {}
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            if table.startswith(f"{prefix}_"):
                columns = connection.introspection.get_table_description(cursor, table)
                constraints = connection.introspection.get_constraints(cursor, table).values()
                found[table.removeprefix(prefix)] = (
                    {(column.name, column.type_code, column.null_ok) for column in columns},
                    sorted(repr({**one, "definition": None}).replace(f"'{prefix}_", "'_") for one in constraints),
                )
    return found


def test_the_same_tables_as_one_by_one() -> None:
    one_by_one = forwards(cellar("single"))
    together = forwards([NewTables(cellar("joint"))])
    try:
        assert tables("joint") == tables("single")
        assert set(tables("joint")) == {"_shelf", "_wheel", "_wheel_neighbours"}
    finally:
        backwards(together)
        backwards(one_by_one)
    assert tables("joint") == tables("single") == {}


def test_only_new_tables_are_taken() -> None:
    with pytest.raises(TypeError, match="makes new tables only"):
        NewTables([migrations.DeleteModel("Wheel")])

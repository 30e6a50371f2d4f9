"""The library in the database: loading, loading again, superseding, and asking."""

import datetime as dt
import shutil
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from haccp.plan import library_store as store
from haccp.plan.library import Library, LibraryError
from haccp.plan.models import LibraryBlock, LibraryDocument, LibraryHazard, LibraryLoad, LibraryValue
from haccp.premises.errors import ActionError
from tests.plan.library.conftest import FOLDER

pytestmark = pytest.mark.django_db
AT = dt.datetime(2026, 11, 25, 9, 0, tzinfo=dt.UTC)
LATER = AT + dt.timedelta(days=30)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(FOLDER, tmp_path / "library"))


def edit(folder: Path, file: str, old: str, new: str) -> None:
    path = folder / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def counts() -> tuple[int, ...]:
    return tuple(
        model._default_manager.count()
        for model in (LibraryLoad, LibraryDocument, LibraryValue, LibraryHazard, LibraryBlock)
    )


def test_loading_stores_every_entry_and_loading_again_changes_nothing(library: Library) -> None:
    first = store.library_load(at=AT)
    assert first.added == sum(
        len(section)
        for section in (
            library.documents, library.values, library.hazards, library.steps, library.controls, library.families,
            library.questions,
        )
    )  # fmt: skip
    before = counts()
    second = store.library_load(at=LATER)
    assert second.is_unchanged
    assert counts() == before


def test_the_stored_library_is_the_one_in_the_files(library: Library) -> None:
    store.library_load(at=AT)
    stored = store.stored_library()
    assert stored.sha256 == library.sha256
    assert stored.values == library.values
    assert stored.controls == library.controls


def test_a_changed_value_gets_a_version_and_the_old_one_stays_and_says_so(folder: Path) -> None:
    store.library_load(at=AT, folder=folder)
    edit(folder, "values/ageing.yaml", "value: 60, unit: d, si: 5184000", "value: 61, unit: d, si: 5270400")
    loaded = store.library_load(at=LATER, folder=folder)
    assert (loaded.added, loaded.changed, loaded.withdrawn) == (0, 1, 0)
    old, new = LibraryValue.objects.filter(key="ageing.us.soft").order_by("version")
    assert (old.version, new.version) == (1, 2)
    assert (old.replaced_at, new.replaced_at) == (LATER, None)
    assert old.is_superseded
    assert old.content["parts"][0]["value"] == 60
    assert LibraryLoad.objects.count() == 2


def test_a_withdrawn_entry_stays_and_can_come_back(folder: Path) -> None:
    store.library_load(at=AT, folder=folder)
    records = (folder / "values/records.yaml").read_text(encoding="utf-8")
    start, end = records.index("  - id: records.us.fish"), records.index("  - id: records.eu.852")
    (folder / "values/records.yaml").write_text(records[:start] + records[end:], encoding="utf-8")
    assert store.library_load(at=LATER, folder=folder).withdrawn == 1
    assert LibraryValue.objects.get(key="records.us.fish").replaced_at == LATER
    assert store.superseded(["records.us.fish", "records.us.117"]) == {"records.us.fish": ""}
    (folder / "values/records.yaml").write_text(records, encoding="utf-8")
    assert store.library_load(at=LATER + dt.timedelta(days=1), folder=folder).added == 1
    assert LibraryValue.objects.current().get(key="records.us.fish").version == 2


def test_a_faulty_library_stores_nothing(folder: Path) -> None:
    edit(folder, "values/heat.yaml", "unit: °C, si: 63,", "unit: bar, si: 63,")
    with pytest.raises(LibraryError, match=r"values/heat.yaml, heat.us.63c"):
        store.library_load(at=AT, folder=folder)
    assert counts() == (0, 0, 0, 0, 0)


def test_values_and_floors_are_asked_in_one_query(django_assert_num_queries: object) -> None:
    store.library_load(at=AT)
    with django_assert_num_queries(1):  # type: ignore[operator]
        found = store.floors("US", "goat", "raw", "ageing", AT.date())
    assert "ageing.us.soft" in {value.id for value in found}
    with django_assert_num_queries(1):  # type: ignore[operator]
        thermising = store.values("thermisation", "AU")
    assert {value.id for value in thermising} == {"heat.thermisation.au", "heat.thermisation.au.old"}
    assert store.superseded(["heat.thermisation.au.old"]) == {"heat.thermisation.au.old": "heat.thermisation.au"}


def test_hazards_are_asked_by_species_treatment_and_steps() -> None:
    store.library_load(at=AT)
    found = store.hazards_for("ewe", "raw", ["piercing", "milk_receipt"])
    assert [item.occurrence.step for item in found] == sorted(
        (item.occurrence.step for item in found), key=["piercing", "milk_receipt"].index
    )
    assert {"needles", "brucella", "listeria"} <= {item.hazard.id for item in found}


def test_asking_before_loading_says_what_to_do() -> None:
    with pytest.raises(ActionError, match="load_library"):
        store.stored_library()


def test_the_command_loads_checks_and_refuses(folder: Path) -> None:
    out = StringIO()
    call_command("load_library", "--check", stdout=out)
    assert "no faults" in out.getvalue()
    assert counts() == (0, 0, 0, 0, 0)
    call_command("load_library", stdout=out)
    assert "entries added" in out.getvalue()
    call_command("load_library", stdout=out)
    assert "nothing changed" in out.getvalue()
    edit(folder, "values/heat.yaml", "unit: °C, si: 63,", "unit: bar, si: 63,")
    with pytest.raises(CommandError, match=r"heat\.us\.63c: (.|\n)*2 faults; nothing was stored"):
        call_command("load_library", "--folder", str(folder), stdout=out)
    with pytest.raises(CommandError, match="There is no folder"):
        call_command("load_library", "--folder", str(folder / "nowhere"), stdout=out)

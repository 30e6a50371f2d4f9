"""What every test needs, whatever it tests."""

from collections.abc import Iterator
from contextlib import ExitStack
from functools import cache
from pathlib import Path

import pytest
from django.db import connections
from django.test import TransactionTestCase
from django.test.utils import override_settings

from haccp.ledger import triggers
from haccp.plan import library_store
from haccp.plan.library import Library
from haccp.plan.library.reading import RawEntry


@pytest.fixture(scope="session", autouse=True)
def _sealed_tables_can_be_emptied_between_tests() -> Iterator[None]:
    """Tests that commit are cleaned up after by emptying every table, which the sealed tables' triggers refuse."""
    plain = TransactionTestCase._fixture_teardown

    def with_guards_lifted(case: TransactionTestCase) -> None:
        with ExitStack() as stack:
            for alias in case._databases_names(include_mirrors=False):
                stack.enter_context(triggers.lifted(connections[alias]))
            plain(case)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", with_guards_lifted)
        yield


@pytest.fixture(scope="session", autouse=True)
def _static_root_is_there(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """The server of static files warns where nothing was collected, and warnings are errors here."""
    # Every client of a test makes the middleware anew, which would look through all files of all apps each time.
    with override_settings(STATIC_ROOT=tmp_path_factory.mktemp("static"), WHITENOISE_USE_FINDERS=False):
        yield


# Argon2 is slow on purpose, and nearly every test opens a dairy with several people in it.
QUICK_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(scope="session", autouse=True)
def _sessions_outlast_a_moved_clock() -> Iterator[None]:
    """Many tests move the clock by days between two pages; how an unused session ends has a test of its own."""
    with override_settings(SESSION_IDLE_SECONDS=100 * 366 * 86_400):
        yield


@pytest.fixture(scope="session", autouse=True)
def _cheap_passwords() -> Iterator[None]:
    """Servers that tests start as processes of their own keep the shipped hasher."""
    with override_settings(PASSWORD_HASHERS=QUICK_HASHERS):
        yield


@pytest.fixture(scope="session", autouse=True)
def _shipped_library_is_read_once() -> Iterator[None]:
    """Nearly every test of a plan loads it into an empty database; the files do not change meanwhile."""
    read = library_store.load_library
    shipped = cache(lambda: read(library_store.FOLDER, library_store.SCHEMA))

    def load_library(folder: Path, schema_file: Path) -> tuple[Library, list[RawEntry]]:
        is_shipped = (folder, schema_file) == (library_store.FOLDER, library_store.SCHEMA)
        return shipped() if is_shipped else read(folder, schema_file)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(library_store, "load_library", load_library)
        yield

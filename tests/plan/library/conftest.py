"""The library as it is published, read once."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from haccp.plan.library import Library, load_library
from tests import ROOT

FOLDER: Path = ROOT / "fixtures" / "library"
SCHEMA: Path = ROOT / "fixtures" / "schemas" / "library-1.json"


@pytest.fixture(scope="session")
def library() -> Library:
    return load_library(FOLDER, SCHEMA)[0]


@pytest.fixture
def moment() -> datetime:
    return datetime(2026, 3, 1, 8, 0, tzinfo=UTC)

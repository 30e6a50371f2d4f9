"""A dairy, packs made of it at once, and files kept in a folder of the test's own."""

from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from uuid import UUID, uuid4

import pytest
from pytest_django import Settings

from haccp.premises.scope import Scope
from haccp.reports import actions
from haccp.reports.gather.choice import Choice
from haccp.reports.models import VisitPack
from tests.dairy import Dairy, open_dairy

FROM, TO = date(2026, 3, 1), date(2026, 3, 10)
ASKED_AT = datetime(2026, 3, 11, 9, 0, tzinfo=UTC)

MakePack = Callable[..., VisitPack]


@pytest.fixture(autouse=True)
def handed_over(monkeypatch: pytest.MonkeyPatch, settings: Settings, tmp_path: Path) -> list[str]:
    """Ids of packs handed over, which are then made by the test itself."""
    settings.DATA_DIR = tmp_path / "data"
    settings.MEDIA_ROOT = tmp_path / "files"
    given: list[str] = []
    monkeypatch.setattr("haccp.reports.actions.hand_over", lambda task, pack_id: given.append(pack_id))
    monkeypatch.setattr("haccp.reports.tasks.hand_over", lambda task, pack_id: given.append(pack_id))
    return given


@pytest.fixture
def dairy(db: None) -> Dairy:
    return open_dairy()


@pytest.fixture
def make_pack() -> MakePack:
    def make(
        scope: Scope,
        *,
        first: date = FROM,
        last: date = TO,
        pack_id: UUID | None = None,
        now: datetime = ASKED_AT,
        choice: Choice | None = None,
        site: str = "",
        language: str = "en-gb",
    ) -> VisitPack:
        pack = actions.pack_request(
            scope=scope,
            pack_id=pack_id or uuid4(),
            period_from=first,
            period_to=last,
            choice=choice,
            site=site,
            language=language,
            now=now,
        )
        assert actions.pack_make(pack_id=pack.id, now=now)
        pack.refresh_from_db()
        return pack

    return make

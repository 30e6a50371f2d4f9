"""Visit packs over the API: who may ask, and what a client may accept."""

from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from haccp.reports.models import VisitPack
from tests.api.device import ROOT, Device, refusal
from tests.dairy import Dairy, open_dairy
from tests.objects import Objects, furnish
from tests.test_isolation import LATER


@pytest.fixture
def objects(db: None, clock: time_machine.Traveller, settings: Any, tmp_path: Path) -> Objects:
    settings.MEDIA_ROOT = tmp_path
    clock.move_to(LATER)
    return furnish(open_dairy(name="Brook Dairy"))


def _asked(**more: str) -> dict[str, str]:
    return {"id": str(uuid4()), "period_from": "2026-03-09", "period_to": "2026-03-10"} | more


def test_whoever_reads_may_ask_for_a_pack(dairy: Dairy, consultant: Device) -> None:
    body = _asked()
    first, again = (consultant.post("packs/", body) for _ in range(2))

    assert (first.status_code, again.status_code) == (201, 201)
    assert VisitPack.objects.count() == 1
    refusal(consultant.post("packs/", body | {"period_from": "2026-03-08"}), 409, "conflict")
    assert "period_to" in refusal(consultant.post("packs/", _asked(period_to="2026-03-01")), 400, "refused")["fields"]


@pytest.mark.parametrize("accept", ["application/pdf", "application/json", "*/*"])
def test_the_file_is_fetched_whatever_the_client_accepts(objects: Objects, accept: str) -> None:
    maker = Device(objects.dairy.maker)
    answer = maker.client.get(f"{ROOT}packs/{objects.ids['pack']}/file/", headers={"Accept": accept})
    content = b"".join(answer.streaming_content)

    assert (answer.status_code, answer.headers["Content-Type"], content) == (200, "application/pdf", b"%PDF-1.7")
    missing = maker.client.get(f"{ROOT}packs/{uuid4()}/file/", headers={"Accept": accept})
    refusal(missing, 404, "not_found")


def test_another_dairys_pack_is_not_there(objects: Objects, stranger: Device) -> None:
    refusal(stranger.get(f"packs/{objects.ids['pack']}/"), 404, "not_found")
    refusal(stranger.get(f"packs/{objects.ids['pack']}/file/"), 404, "not_found")
    assert stranger.get("packs/").json()["results"] == []

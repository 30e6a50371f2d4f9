"""The pages and the API of packs, as an insider, a colleague, a stranger, and somebody signed out."""

import re
from datetime import date
from uuid import uuid4

import pytest
import time_machine
from django.http import HttpResponse
from django.test import Client

from haccp.premises import actions as premises
from haccp.premises.scope import Scope
from haccp.reports import actions, making
from haccp.reports.models import VisitPack
from tests.dairy import Dairy, open_dairy
from tests.reports.conftest import ASKED_AT, MakePack

pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def clock() -> object:
    with time_machine.travel(ASKED_AT, tick=False):
        yield


def client_of(scope: Scope) -> Client:
    client = Client()
    client.force_login(scope.user)
    return client


@pytest.fixture
def owner(dairy: Dairy) -> Client:
    return client_of(dairy.owner)


@pytest.fixture
def stranger(dairy: Dairy) -> Client:
    return client_of(open_dairy(name="Glen Dairy").owner)


def asked(dairy: Dairy) -> VisitPack:
    return actions.pack_request(
        scope=dairy.owner, pack_id=uuid4(), period_from=date(2026, 3, 1), period_to=date(2026, 3, 10)
    )


def page_of(answer: HttpResponse) -> str:
    return " ".join(answer.content.decode().split())


def test_the_form_offers_the_last_thirty_days(owner: Client) -> None:
    page = page_of(owner.get("/packs/"))
    assert 'value="2026-02-10"' in page
    assert 'value="2026-03-11"' in page


def test_asking_leads_to_the_pack_and_a_double_tap_asks_for_one(owner: Client, handed_over: list[str]) -> None:
    page = page_of(owner.get("/packs/"))
    found = re.search(r'name="pack_id" value="([^"]*)"', page)
    assert found is not None
    sent = {"pack_id": found[1], "period_from": "2026-03-01", "period_to": "2026-03-10"}
    answers = [owner.post("/packs/", sent) for _ in range(2)]
    assert [answer.headers["Location"] for answer in answers] == [f"/packs/{found[1]}/"] * 2
    assert VisitPack.objects.count() == 1


def test_a_refused_period_keeps_what_was_typed(owner: Client) -> None:
    pack_id = str(uuid4())
    answer = owner.post("/packs/", {"pack_id": pack_id, "period_from": "2026-03-10", "period_to": "2026-03-01"})
    page = page_of(answer)
    assert answer.status_code == 422
    assert "The period ends before it begins" in page
    assert pack_id in page
    assert 'value="2026-03-10"' in page
    unreadable = owner.post("/packs/", {"pack_id": pack_id, "period_from": "soon", "period_to": "2026-03-01"})
    assert unreadable.status_code == 422
    assert "not a day of the calendar" in page_of(unreadable)


def test_the_page_works_without_script_and_the_progress_is_told(dairy: Dairy, owner: Client) -> None:
    pack = asked(dairy)
    VisitPack.objects.filter(pk=pack.pk).update(stage="Heat treatments", done_parts=30, total_parts=120)
    page = page_of(owner.get(f"/packs/{pack.id}/"))
    assert '<noscript><meta http-equiv="refresh"' in page
    assert 'max="120" value="30"' in page
    assert "25 %" in page
    assert "Look again" in page
    answer = owner.get(f"/packs/{pack.id}/progress/")
    assert answer.json() == {"state": "making", "stage": "Heat treatments", "done": 30, "total": 120, "percent": 25}
    assert "no-store" in answer.headers["Cache-Control"]


def test_a_finished_pack_shows_what_it_holds_and_is_served(dairy: Dairy, owner: Client, make_pack: MakePack) -> None:
    pack = make_pack(dairy.owner)
    page = page_of(owner.get(f"/packs/{pack.id}/"))
    assert pack.sha256 in page
    assert f"<dt>Pages</dt><dd>{pack.page_count}</dd>" in page
    shown = owner.get(f"/packs/{pack.id}/file/")
    assert shown.headers["Content-Type"] == "application/pdf"
    assert shown.headers["Content-Disposition"].startswith("inline")
    content = b"".join(shown.streaming_content)
    assert content.startswith(b"%PDF-")
    assert len(content) == pack.size_bytes == int(shown.headers["Content-Length"])
    saved = owner.get(f"/packs/{pack.id}/file/?save=1")
    wanted = 'attachment; filename="weir-farm-dairy-2026-03-01-to-2026-03-10.pdf"'
    assert saved.headers["Content-Disposition"] == wanted
    saved.close()


def test_a_failure_is_shown_with_the_way_to_make_it_again(dairy: Dairy, owner: Client) -> None:
    pack = asked(dairy)
    VisitPack.objects.filter(pk=pack.pk).update(failed_at=ASKED_AT, failure=making.CUT_OFF)
    page = page_of(owner.get(f"/packs/{pack.id}/"))
    assert "cut off 3 times" in page
    again = dict(re.findall(r'name="(pack_id|period_from|period_to)" value="([^"]*)"', page))
    answer = owner.post("/packs/", again)
    assert answer.headers["Location"] == f"/packs/{again['pack_id']}/"
    assert VisitPack.objects.count() == 2


def test_a_pack_can_be_cancelled(dairy: Dairy, owner: Client) -> None:
    pack = asked(dairy)
    page = page_of(owner.post(f"/packs/{pack.id}/cancel/", follow=True))
    assert "Cancelled" in page
    assert owner.get(f"/packs/{pack.id}/progress/").json()["state"] == "cancelled"


@pytest.mark.parametrize("path", ["", "progress/", "file/"])
def test_nobody_else_sees_a_pack(dairy: Dairy, stranger: Client, make_pack: MakePack, path: str) -> None:
    pack = make_pack(dairy.owner)
    address = f"/packs/{pack.id}/{path}"
    assert stranger.get(address).status_code == 404
    signed_out = Client().get(address)
    assert signed_out.status_code == 302
    assert signed_out.headers["Location"].startswith("/sign-in/")
    helper = client_of(dairy.helper).get(address)
    assert helper.status_code == 200
    helper.close()


def test_a_stranger_can_neither_cancel_nor_list(dairy: Dairy, stranger: Client) -> None:
    pack = asked(dairy)
    assert stranger.post(f"/packs/{pack.id}/cancel/").status_code == 404
    assert str(pack.id) not in page_of(stranger.get("/packs/"))


def test_an_unfinished_pack_has_no_file(dairy: Dairy, owner: Client) -> None:
    assert owner.get(f"/packs/{asked(dairy).id}/file/").status_code == 404


def test_the_list_costs_the_same_queries_for_one_pack_and_for_ten(
    dairy: Dairy, owner: Client, django_assert_num_queries: object
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    asked(dairy)
    owner.get("/packs/")
    counts = []
    for more in (0, 9):
        for _ in range(more):
            asked(dairy)
        with CaptureQueriesContext(connection) as queries:
            owner.get("/packs/")
        counts.append(len(queries))
    assert counts[0] == counts[1]


# --- The API ---


def device(scope: Scope) -> dict[str, str]:
    _, token = premises.device_add(scope=scope, name="tablet")
    return {"Authorization": f"Token {token}"}


def test_the_api_asks_for_a_pack_once_and_fetches_its_file(dairy: Dairy) -> None:
    client, headers = Client(), device(dairy.helper)
    sent = {"id": str(uuid4()), "period_from": "2026-03-01", "period_to": "2026-03-10"}
    for _ in range(2):
        answer = client.post("/api/v1/packs/", sent, content_type="application/json", headers=headers)
        assert answer.status_code == 201
        assert answer.json()["progress"] == {
            "state": "waiting", "stage": "", "done": 0, "total": 0, "percent": None
        }  # fmt: skip
    assert client.get(f"/api/v1/packs/{sent['id']}/file/", headers=headers).status_code == 404
    assert actions.pack_make(pack_id=VisitPack.objects.get().pk, now=ASKED_AT)
    detail = client.get(f"/api/v1/packs/{sent['id']}/", headers=headers).json()
    assert detail["progress"]["state"] == "finished"
    assert detail["contents"]["records"] == 0
    listed = client.get("/api/v1/packs/", headers=headers).json()["results"]
    assert [one["id"] for one in listed] == [sent["id"]]
    file = client.get(f"/api/v1/packs/{sent['id']}/file/", headers=headers)
    assert b"".join(file.streaming_content).startswith(b"%PDF-")


def test_the_api_refuses_a_backward_period_and_strangers(dairy: Dairy, stranger: Client) -> None:
    headers = device(dairy.owner)
    sent = {"id": str(uuid4()), "period_from": "2026-03-10", "period_to": "2026-03-01"}
    refused = Client().post("/api/v1/packs/", sent, content_type="application/json", headers=headers)
    assert refused.status_code == 400
    assert "period_to" in refused.json()["error"]["fields"]
    pack = asked(dairy)
    for path in ("", "file/"):
        assert stranger.get(f"/api/v1/packs/{pack.id}/{path}").status_code == 404
        assert Client().get(f"/api/v1/packs/{pack.id}/{path}").status_code == 401

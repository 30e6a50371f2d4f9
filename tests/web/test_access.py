"""Every page as an insider, a colleague without the right, a stranger of another dairy, and somebody signed out."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import get_resolver

from haccp.checks import actions as checks
from haccp.checks.models import DueCheck, MissedCheck
from haccp.premises.scope import Scope
from tests.dairy import Dairy
from tests.web.conftest import NOW, page_of

SignedIn = Callable[[Scope], Client]
FOR_READERS = ["/today/", "/days/", "/days/2026-03-04/", "/preferences/", "/devices/", "{record}", "{missed}"]
FOR_WRITERS = ["{due}", "{due}recorder/", "{extra}", "{record}amend/"]
OF_ONE_DAIRY = ["{record}", "{missed}", "{due}", "{due}recorder/", "{extra}", "{record}amend/"]


@pytest.fixture
def paths(dairy: Dairy) -> dict[str, str]:
    saved = dairy.save("Room 1 temperature", "11.2", at=NOW, instrument_id=dairy.thermometer.id)
    make = dairy.start_make(at=NOW - timedelta(minutes=30))
    checks.sweep(now=NOW + timedelta(hours=2))
    due = DueCheck.objects.get(lot=make.lot_id, check_due__name="Heat treatment")
    return {
        "record": f"/records/{saved.record.id}/",
        "missed": f"/missed/{MissedCheck.objects.filter(due__premises=dairy.owner.premises)[0].id}/",
        "due": f"/checks/{due.id}/",
        "extra": f"/checks/extra/{dairy.check('Room 1 temperature').id}/",
    }


@pytest.mark.parametrize("path", FOR_READERS + FOR_WRITERS)
def test_an_insider_sees_every_page(dairy: Dairy, maker: Client, paths: dict[str, str], path: str) -> None:
    answer = maker.get(path.format(**paths))

    page = page_of(answer)
    assert answer.status_code == 200
    assert page.count("<h1>") == 1
    assert "Supports and does not replace the local regulator, local codes and the licensed process authority." in page
    # What the Content-Security-Policy would refuse, and what comes from elsewhere.
    assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son[a-z]+=", page)
    assert not re.search(r'(?:src|href|action)="(?:https?:)?//', page)


@pytest.mark.parametrize("path", FOR_READERS)
def test_a_reader_sees_what_there_is_to_read(
    reviewer: Scope, signed_in: SignedIn, paths: dict[str, str], path: str
) -> None:
    assert signed_in(reviewer).get(path.format(**paths)).status_code == 200


@pytest.mark.parametrize("path", FOR_WRITERS)
def test_a_reader_is_told_that_writing_is_not_part_of_the_role(
    reviewer: Scope, signed_in: SignedIn, paths: dict[str, str], path: str
) -> None:
    client = signed_in(reviewer)

    for answer in (client.get(path.format(**paths)), client.post(path.format(**paths), {})):
        assert answer.status_code == 403
        assert "Your role here (reviewer) does not include this" in page_of(answer)


def test_a_reader_gives_no_reason_and_signs_no_day_off(
    reviewer: Scope, signed_in: SignedIn, paths: dict[str, str]
) -> None:
    client = signed_in(reviewer)

    assert client.post(paths["missed"], {"text": "Because."}).status_code == 403
    sent = {"meaning": "signed_off", "seen_sha256": "0" * 64, "password": "x"}
    assert client.post("/days/2026-03-04/", sent).status_code == 403


@pytest.mark.parametrize("path", OF_ONE_DAIRY)
def test_a_stranger_finds_nothing(stranger: Scope, signed_in: SignedIn, paths: dict[str, str], path: str) -> None:
    client = signed_in(stranger)

    assert client.get(path.format(**paths)).status_code == 404
    assert client.post(path.format(**paths), {"text": "x"}).status_code == 404


def test_a_strangers_own_pages_hold_nothing_of_ours(
    stranger: Scope, signed_in: SignedIn, paths: dict[str, str]
) -> None:
    for path in ("/today/", "/days/", "/days/2026-03-04/"):
        assert "11.2" not in page_of(signed_in(stranger).get(path))


@pytest.mark.parametrize("path", FOR_READERS + FOR_WRITERS)
def test_somebody_signed_out_is_led_to_the_sign_in_page_and_back(
    client: Client, paths: dict[str, str], path: str
) -> None:
    url = path.format(**paths)

    answer = client.get(url)

    assert answer.headers["Location"] == f"/sign-in/?next={url}"


@pytest.mark.parametrize("path", ["{due}", "{missed}", "/days/2026-03-04/"])
def test_a_form_sent_after_the_session_ended_is_shown_back(client: Client, paths: dict[str, str], path: str) -> None:
    answer = client.post(path.format(**paths), {"text": "The <key> was lost.", "password": "tall reeds"})

    assert answer.status_code == 401
    assert "The &lt;key&gt; was lost." in page_of(answer)
    assert "tall reeds" not in page_of(answer)


def test_a_form_with_an_old_token_is_shown_back(dairy: Dairy, paths: dict[str, str]) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(dairy.maker.user)

    answer = client.post(paths["missed"], {"text": "The key was lost."})

    assert answer.status_code == 403
    assert "The key was lost." in page_of(answer)


def test_what_is_not_here_has_a_page_of_ours(maker: Client) -> None:
    answer = maker.get("/no/such/page/")

    assert answer.status_code == 404
    assert "There is no such page here" in page_of(answer)


def test_every_view_of_these_rooms_declares_the_right_it_needs() -> None:
    open_to_all = {"premises:sign_in", "premises:sign_out", "premises:choose"}
    undeclared = [
        f"{resolver.app_name}:{pattern.name}"
        for resolver in get_resolver().url_patterns
        if getattr(resolver, "app_name", "") in ("checks", "premises")
        for pattern in resolver.url_patterns
        if not hasattr(pattern.callback, "needed_right")
    ]

    assert set(undeclared) == open_to_all

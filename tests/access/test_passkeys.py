"""Passkeys: added after the password, used at sign-in and at a signature, and what is refused.

W3C Web Authentication Level 3, 7.1 and 7.2: what a site has to verify (challenge, origin, domain, user verification,
signature, counter).
"""

import html
import json
import re
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client
from django.utils import timezone
from pytest_django import Settings

from haccp.access.models import Passkey
from haccp.deviations.models import Closure
from haccp.deviations.queries import guide
from haccp.ledger.models import Entry
from haccp.premises import proofs
from tests.access.authenticator import Authenticator
from tests.dairy import PASSWORD, Dairy, open_dairy
from tests.deviations.test_completed import MORNING, led_through, reported
from tests.web.pages import signed_in

pytestmark = pytest.mark.django_db
WRONG = "That passkey could not be verified"


@pytest.fixture
def dairy() -> Dairy:
    cache.clear()
    return open_dairy()


def send(client: Client, address: str, body: Any = None) -> Any:
    return client.post(address, json.dumps(body if body is not None else {}), content_type="application/json")


def offered(client: Client, name: str = "telephone") -> dict[str, Any]:
    page = client.post("/security/passkeys/add/", {"name": name, "password": PASSWORD}).content.decode()
    found = re.search(r'data-made="([^"]+)"', page)
    assert found, page
    options: dict[str, Any] = json.loads(html.unescape(found[1]))
    return options


def added(client: Client, key: Authenticator, name: str = "telephone") -> Any:
    return send(client, "/security/passkeys/made/", {"name": name, "answer": key.make(offered(client, name))})


def comes_in(client: Client, key: Authenticator, **more: Any) -> Any:
    options = send(client, "/sign-in/passkey/options/").json()
    return send(client, "/sign-in/passkey/", key.prove(options) | more)


def test_a_passkey_signs_in_without_a_code_and_its_adding_is_sealed(dairy: Dairy) -> None:
    client, key = signed_in(dairy.maker), Authenticator()
    refused = client.post("/security/passkeys/add/", {"name": "telephone", "password": "wrong"})
    assert refused.status_code == 422
    options = offered(client)
    assert options["rp"]["id"] == "testserver"
    assert options["authenticatorSelection"]["userVerification"] == "required"
    assert added(client, key).json() == {"next": "/security/"}
    assert "telephone" in client.get("/security/").content.decode()
    assert Entry.objects.filter(kind="passkey.added").count() == 1

    visitor = Client()
    answer = comes_in(visitor, key)
    assert answer.json() == {"next": "/today/"}
    assert visitor.get("/today/").status_code == 200
    assert Passkey.objects.get().sign_count == 1
    page = visitor.get("/security/").content.decode()
    assert 'data-passkey-address="/security/passkeys/confirm/"' in page
    assert "data-passkey-address" not in signed_in(dairy.helper).get("/security/").content.decode()


def test_what_a_site_has_to_verify_is_verified(dairy: Dairy) -> None:
    client, key = signed_in(dairy.maker), Authenticator()
    for stranger in (Authenticator(origin="https://elsewhere.example"), Authenticator(verifies=False)):
        assert WRONG in added(client, stranger).json()["error"]
    assert not Passkey.objects.exists()
    made = key.make(offered(client))
    assert send(client, "/security/passkeys/made/", {"name": "", "answer": made}).status_code == 422
    assert "Begin again" in send(client, "/security/passkeys/made/", {"name": "x", "answer": made}).json()["error"]
    assert added(client, key).status_code == 200
    assert added(client, key).status_code == 422, "the same key twice"

    def refused(answer: Any) -> None:
        assert answer.status_code == 422
        assert set(answer.json()) == {"error"}

    visitor = Client()
    refused(comes_in(visitor, Authenticator()))  # not known here
    refused(
        comes_in(visitor, Authenticator(key=key.key, credential_id=key.credential_id, origin="https://evil.example"))
    )
    refused(comes_in(visitor, Authenticator(key=key.key, credential_id=key.credential_id, verifies=False)))
    refused(comes_in(visitor, Authenticator(credential_id=key.credential_id)))  # another key
    options = send(visitor, "/sign-in/passkey/options/").json()
    proof = key.prove(options)
    assert send(visitor, "/sign-in/passkey/", proof).status_code == 200
    refused(send(Client(), "/sign-in/passkey/", proof))  # a challenge of another session
    later = Client()
    send(later, "/sign-in/passkey/options/")
    refused(send(later, "/sign-in/passkey/", proof))  # an old challenge
    key.count = 0
    refused(comes_in(Client(), key))  # it counts backwards: a copy
    for body in ("no JSON", [], {"rawId": 7}, {}):
        waiting = Client()
        send(waiting, "/sign-in/passkey/options/")
        refused(send(waiting, "/sign-in/passkey/", body))
    with time_machine.travel(timezone.now(), tick=False) as clock:
        slow = Client()
        options = send(slow, "/sign-in/passkey/options/").json()
        clock.shift(timedelta(minutes=6))
        refused(send(slow, "/sign-in/passkey/", key.prove(options)))


def test_a_leaver_s_passkey_opens_nothing(dairy: Dairy) -> None:
    key = Authenticator()
    added(signed_in(dairy.maker), key)
    dairy.maker.user.is_active = False
    dairy.maker.user.save()
    assert comes_in(Client(), key).status_code == 422


def test_a_signature_by_passkey_says_so_and_its_word_is_good_once_for_that_person(dairy: Dairy) -> None:
    client, key = signed_in(dairy.owner), Authenticator()
    added(client, key)
    added(signed_in(dairy.maker), other := Authenticator())
    options = send(client, "/security/passkeys/confirm/options/").json()
    assert [one["id"] for one in options["allowCredentials"]] == [key.prove(options)["id"]]
    assert WRONG in send(client, "/security/passkeys/confirm/", other.prove(options)).json()["error"]
    options = send(client, "/security/passkeys/confirm/options/").json()
    word = send(client, "/security/passkeys/confirm/", key.prove(options)).json()["word"]

    first, second = (reported(dairy, dairy.start_make(at=MORNING + timedelta(days=day))) for day in (0, 2))
    for deviation in (first, second):
        led_through(dairy, deviation, "release", at=MORNING + timedelta(days=3))

    def close(deviation: Any) -> Any:
        return client.post(
            f"/deviations/{deviation.pk}/close/",
            {"password": word, "seen_sha256": guide(deviation).content_sha256, "request_id": str(uuid4())},
        )

    assert close(first).status_code == 302
    assert Closure.objects.get().signature.method == "passkey"
    again = close(second)
    assert again.status_code == 422
    assert "use it again" in again.content.decode()
    assert word not in again.content.decode()
    assert not proofs.take(dairy.maker.user, proofs.give(dairy.owner.user))


def test_it_is_removed_by_its_person_alone(dairy: Dairy) -> None:
    client, key = signed_in(dairy.maker), Authenticator()
    added(client, key)
    address = f"/security/passkeys/{Passkey.objects.get().pk}/remove/"
    assert signed_in(dairy.owner).post(address, {"password": PASSWORD}).status_code == 404
    assert client.post(address, {"password": "wrong"}).status_code == 422
    assert client.post(address, {"password": PASSWORD}).status_code == 302
    assert comes_in(Client(), key).status_code == 422
    assert "data-passkey-address" not in client.get("/security/").content.decode()


def test_a_session_that_nobody_uses_ends_and_leads_back_to_the_form(dairy: Dairy, settings: Settings) -> None:
    settings.SESSION_IDLE_SECONDS = 2 * 3600
    with time_machine.travel(timezone.now(), tick=False) as clock:
        client = signed_in(dairy.maker)
        client.post("/sign-in/", {"username": dairy.maker.user.email, "password": PASSWORD})
        for _ in range(3):
            clock.shift(timedelta(minutes=90))
            assert client.get("/security/").status_code == 200
        clock.shift(timedelta(minutes=121))
        sent = client.post(
            "/security/pin/",
            {"pin": "1234", "password": PASSWORD},
            headers={"referer": "http://testserver/security/pin/"},
        )
        assert sent.headers["Location"] == "/sign-in/?next=%2Fsecurity%2Fpin%2F&ended=idle"
        assert "Nobody used this for a while" in client.get(sent.headers["Location"]).content.decode()
        assert client.get("/security/").status_code == 302

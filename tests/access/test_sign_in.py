"""Getting in: lock-out, second factor, recovery, PINs at a shared device, and visitors."""

import re
from datetime import timedelta
from typing import Any
from urllib.parse import quote

import pytest
import time_machine
from axes.models import AccessAttempt
from django.contrib.sessions.backends.db import SessionStore
from django.core import mail
from django.core.cache import cache
from django.test import Client
from django.utils import timezone
from django_otp.oath import TOTP
from django_otp.plugins.otp_totp.models import TOTPDevice

from haccp.access.actions import invitations, pins, visitors
from haccp.access.models import Pin, VisitorLink
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.premises.actions import confirm_identity, device_add
from haccp.premises.errors import ActionError, NotAllowed
from haccp.premises.models import Membership
from haccp.premises.scope import Scope
from tests.dairy import PASSWORD, Dairy, open_dairy

pytestmark = pytest.mark.django_db
NEW_PASSWORD = "whey under the long bridge"


@pytest.fixture
def dairy() -> Dairy:
    cache.clear()
    return open_dairy()


def _browser(scope: Scope) -> Client:
    client = Client()
    client.force_login(scope.user)
    return client


def _tries(client: Client, scope: Scope, password: str) -> Any:
    return client.post("/sign-in/", {"username": scope.user.email, "password": password})


def test_after_five_wrong_passwords_the_right_one_is_not_looked_at_for_a_while(dairy: Dairy) -> None:
    client = Client()
    for _ in range(4):
        assert _tries(client, dairy.maker, "wrong").status_code == 422
    locked = _tries(client, dairy.maker, "wrong")
    assert locked.status_code == 429
    assert dairy.maker.user.email in locked.content.decode()
    assert _tries(client, dairy.maker, PASSWORD).status_code == 429
    # A colleague beside them signs in.
    assert _tries(Client(), dairy.helper, PASSWORD).status_code == 302

    with time_machine.travel(timezone.now() + timedelta(minutes=16)):
        assert _tries(client, dairy.maker, PASSWORD).status_code == 302
    assert not AccessAttempt.objects.filter(username=dairy.maker.user.email).exists()


def test_a_password_cannot_be_guessed_at_signing_either(dairy: Dairy) -> None:
    for _ in range(8):
        with pytest.raises(ActionError, match="not your password"):
            confirm_identity(scope=dairy.maker, password="wrong")
    with pytest.raises(ActionError, match="Too many wrong ones"):
        confirm_identity(scope=dairy.maker, password=PASSWORD)
    confirm_identity(scope=dairy.owner, password=PASSWORD)


def test_a_forgotten_password_is_chosen_anew_by_mail_once(dairy: Dairy, settings: Any) -> None:
    settings.EMAIL_HOST = "mail.weir.example"
    client, held = Client(), _browser(dairy.maker)
    known = client.post("/password/forgotten/", {"email": dairy.maker.user.email}, follow=True).content
    unknown = client.post("/password/forgotten/", {"email": "nobody@weir.example"}, follow=True).content
    assert re.sub(rb'value="[^"]*"', b"", known) == re.sub(rb'value="[^"]*"', b"", unknown)
    assert len(mail.outbox) == 1
    link = re.search(r"http://testserver(/password/new/\S+)", mail.outbox[0].body)
    assert link is not None

    form = client.get(link[1]).headers["Location"]
    weak = client.post(form, {"new_password1": "password12", "new_password2": "password12"})
    assert weak.status_code == 422
    client.post(form, {"new_password1": NEW_PASSWORD, "new_password2": NEW_PASSWORD})

    assert _tries(Client(), dairy.maker, PASSWORD).status_code == 422
    assert _tries(Client(), dairy.maker, NEW_PASSWORD).status_code == 302
    # Whoever was in with the old one is out.
    assert held.get("/today/").status_code == 302
    assert "was used, or is older" in Client().get(link[1], follow=True).content.decode()


def test_a_changed_password_signs_out_elsewhere_and_stays_here(dairy: Dairy) -> None:
    here, elsewhere = _browser(dairy.maker), _browser(dairy.maker)
    typed = {"old_password": "wrong", "new_password1": NEW_PASSWORD, "new_password2": NEW_PASSWORD}
    assert here.post("/security/password/", typed).status_code == 422
    assert here.post("/security/password/", typed | {"old_password": PASSWORD}).status_code == 302
    assert here.get("/today/").status_code == 200
    assert elsewhere.get("/today/").status_code == 302


def _code(device: TOTPDevice, at: float) -> str:
    """By the library's RFC 6238 function, whose own tests are that RFC's vectors."""
    totp = TOTP(device.bin_key, device.step, device.t0, device.digits, device.drift)
    totp.time = at
    return f"{totp.token():06d}"


def test_with_an_authenticator_the_password_alone_signs_nobody_in(dairy: Dairy) -> None:
    with time_machine.travel(timezone.now(), tick=False) as clock:
        client = _browser(dairy.maker)
        assert "data:image/svg+xml" in client.get("/security/authenticator/").content.decode()
        device = TOTPDevice.objects.get(user=dairy.maker.user)
        assert client.post("/security/authenticator/", {"one_time_code": "12345"}).status_code == 422
        clock.shift(timedelta(minutes=5))
        shown = client.post("/security/authenticator/", {"one_time_code": _code(device, timezone.now().timestamp())})
        spare = re.findall(r'class="token">([0-9a-f]{10})<', shown.content.decode())
        assert len(spare) == 8

        clock.shift(timedelta(minutes=5))
        visitor = Client()
        asked = _tries(visitor, dairy.maker, PASSWORD)
        assert asked.headers["Location"].startswith("/sign-in/code/")
        assert visitor.get("/today/").status_code == 302
        used = _code(device, timezone.now().timestamp())
        assert visitor.post("/sign-in/code/", {"one_time_code": used}).status_code == 302
        assert visitor.get("/today/").status_code == 200
        # The same code again, from somebody who looked over a shoulder.
        second = Client()
        _tries(second, dairy.maker, PASSWORD)
        assert second.post("/sign-in/code/", {"one_time_code": used}).status_code == 422
        clock.shift(timedelta(minutes=2))
        assert second.post("/sign-in/code/", {"one_time_code": spare[0]}).status_code == 302
        third = Client()
        _tries(third, dairy.maker, PASSWORD)
        assert third.post("/sign-in/code/", {"one_time_code": spare[0]}).status_code == 422
        clock.shift(timedelta(minutes=6))
        assert third.post("/sign-in/code/", {"one_time_code": spare[1]}).headers["Location"] == "/sign-in/"
        assert Client().get("/sign-in/code/").status_code == 302
        client.post("/security/authenticator/off/", {"password": PASSWORD})
        assert _tries(Client(), dairy.maker, PASSWORD).headers["Location"] == "/today/"


def test_a_pin_changes_who_records_and_nothing_more(dairy: Dairy) -> None:
    tablet = _browser(dairy.owner)
    assert "Nobody here has set a PIN" in tablet.get("/hand-over/").content.decode()
    for pin, sentence in (("1234", "among the first"), ("77", "at least 4"), ("12a4", "Digits only")):
        refused = _browser(dairy.maker).post("/security/pin/", {"pin": pin, "password": PASSWORD})
        assert refused.status_code == 422
        assert sentence in refused.content.decode()
    _browser(dairy.maker).post("/security/pin/", {"pin": "4071", "password": PASSWORD})
    pins.pin_set(scope=dairy.owner, pin="8823", password=PASSWORD)
    assert "4071" not in Pin.objects.get(user=dairy.maker.user).hashed

    chosen = {"person": str(dairy.maker.membership.id), "pin": "4071"}
    assert tablet.post("/hand-over/", chosen).status_code == 302
    assert "Milo Maker" in tablet.get("/today/").content.decode()

    # The owner took over by PIN: what they record is theirs, but people are managed after a password only.
    tablet.post("/hand-over/", {"person": str(dairy.owner.membership.id), "pin": "8823"})
    page = tablet.get("/people/invite/")
    assert page.status_code == 403
    assert "sign in with your password" in page.content.decode()
    for path in ("/security/password/", "/devices/", "/people/leave/"):
        assert tablet.get(path).status_code == 403
    with pytest.raises(NotAllowed):
        device_add(scope=Scope(dairy.owner.membership, by_pin=True), name="x")
    assert _tries(Client(), dairy.owner, PASSWORD).status_code == 302


def test_a_pin_opens_no_other_dairy_of_the_person(dairy: Dairy) -> None:
    """Four digits, proved at one dairy's tablet: neither chosen, nor slipped into when the role there ends."""
    other = open_dairy(name="Other Farm")
    there = Membership.objects.create(
        user=dairy.maker.user, premises=other.owner.premises, role="owner", since=timezone.now()
    )
    third = open_dairy(name="Third Farm")
    _, token = invitations.invitation_send(scope=third.owner, email=dairy.maker.user.email, role="maker")
    pins.pin_set(scope=dairy.maker, pin="4071", password=PASSWORD)
    tablet = _browser(dairy.helper)
    assert tablet.post("/hand-over/", {"person": str(dairy.maker.membership.id), "pin": "4071"}).status_code == 302

    assert "Other Farm" not in tablet.get("/choose/").content.decode()
    tablet.post("/choose/", {"membership": str(there.id)})
    assert dairy.maker.premises.name in tablet.get("/today/").content.decode()
    assert tablet.post(f"/invitation/{token}/").status_code == 403

    Membership.objects.filter(pk=dairy.maker.membership.pk).update(left_at=timezone.now())
    assert tablet.get("/today/").status_code == 302
    assert "Other Farm" not in tablet.get("/today/", follow=True).content.decode()
    # By password the same person chooses freely.
    assert "Other Farm" in _browser(dairy.maker).get("/today/", follow=True).content.decode()


def test_a_session_that_somebody_else_planted_is_not_the_one_that_is_signed_in(dairy: Dairy) -> None:
    """Session fixation: the key changes at sign-in, by whatever means, and the planted one is worth nothing."""
    browser = Client()
    browser.get("/sign-in/")
    planted = SessionStore()
    planted["x"] = 1
    planted.save()
    browser.cookies["sessionid"] = str(planted.session_key)
    assert _tries(browser, dairy.maker, PASSWORD).status_code == 302
    assert browser.cookies["sessionid"].value != planted.session_key
    attacker = Client()
    attacker.cookies["sessionid"] = str(planted.session_key)
    assert attacker.get("/today/").status_code == 302


@pytest.mark.parametrize(
    "where", ["https://evil.example/", "//evil.example/", "/\\evil.example", "javascript:alert(1)"]
)
def test_signing_in_leads_to_no_other_site(dairy: Dairy, where: str) -> None:
    answer = Client().post(
        f"/sign-in/?next={quote(where)}", {"username": dairy.maker.user.email, "password": PASSWORD, "next": where}
    )
    assert answer["Location"] == "/today/"


def test_a_pin_is_locked_after_five_wrong_ones(dairy: Dairy) -> None:
    pins.pin_set(scope=dairy.maker, pin="4071", password=PASSWORD)
    tablet = _browser(dairy.helper)
    person = str(dairy.maker.membership.id)
    for number in range(5):
        answer = tablet.post("/hand-over/", {"person": person, "pin": f"900{number}"})
        assert "not this person" in answer.content.decode()
    locked = tablet.post("/hand-over/", {"person": person, "pin": "4071"})
    assert locked.status_code == 422
    assert "locked after too many" in locked.content.decode()
    with time_machine.travel(timezone.now() + timedelta(minutes=16)):
        assert tablet.post("/hand-over/", {"person": person, "pin": "4071"}).status_code == 302
    # Nobody of another dairy, and no visitor, takes over here.
    other = open_dairy(name="Glen Dairy")
    with pytest.raises(ActionError, match="no PIN here"):
        pins.take_over(scope=other.maker, membership=dairy.maker.membership, pin="4071")


def test_a_visitor_reads_by_the_link_until_it_ends(dairy: Dairy) -> None:
    owner = _browser(dairy.owner)
    page = owner.post("/visitors/", {"name": "A. Byrne, county food office", "days": "7"}).content.decode()
    found = re.search(r"http://testserver(/visit/([\w-]{43})/)", page)
    assert found is not None
    assert found[2] not in owner.get("/visitors/").content.decode()
    assert found[2] not in str(list(VisitorLink.objects.values_list()))
    link = found[1]
    visitor = Client()
    assert "Weir Farm" not in visitor.get(link).content.decode()
    assert visitor.get("/today/").status_code == 302  # looking at the link opens nothing
    assert visitor.post(link).status_code == 302
    assert "Weir Farm Dairy" in visitor.get("/today/").content.decode()
    for path in ("/people/invite/", "/devices/", "/hand-over/", "/makes/new/", "/security/", "/visitors/"):
        assert visitor.get(path).status_code == 403, path
    scope = Scope(VisitorLink.objects.get().membership)
    with pytest.raises(NotAllowed):
        device_add(scope=scope, name="x")

    with time_machine.travel(timezone.now() + timedelta(days=8)):
        late = Client()
        assert late.post(link).status_code == 404
        late.force_login(scope.user)
        assert late.get("/today/").headers["Location"] == "/choose/"
    owner.post(f"/visitors/{scope.membership.id}/end/")
    assert visitor.get("/today/").headers["Location"] == "/choose/"
    assert visitor.post(link).status_code == 404
    report = verify_log(Log.objects.get(pk=dairy.owner.log_id))
    assert report.holds, report.problem
    with pytest.raises(NotAllowed):
        visitors.visitor_admit(scope=dairy.maker, name="x", days=1)
    with pytest.raises(ActionError, match="1 to 31"):
        visitors.visitor_admit(scope=dairy.owner, name="x", days=400)

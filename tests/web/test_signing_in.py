"""Signing in and out, choosing a dairy, units and devices."""

import re
from collections.abc import Callable
from datetime import datetime

import pytest
from django.test import Client
from django.utils import timezone

from haccp.premises.api_access import hash_token
from haccp.premises.models import DeviceToken, Membership
from haccp.premises.scope import Scope
from tests.dairy import PASSWORD, Dairy

SignedIn = Callable[[Scope], Client]


def test_a_wrong_password_is_refused_and_the_address_kept(dairy: Dairy) -> None:
    answer = Client().post("/sign-in/", {"username": "maker@weir.example", "password": "wrong"})

    assert answer.status_code == 422
    assert "do not belong together" in answer.content.decode()
    assert 'value="maker@weir.example"' in answer.content.decode()


def test_the_right_password_leads_to_where_the_person_wanted_to_go(dairy: Dairy) -> None:
    answer = Client().post(
        "/sign-in/?next=/days/", {"username": " Maker@Weir.example ", "password": PASSWORD, "next": "/days/"}
    )

    assert (answer.status_code, answer.headers["Location"]) == (302, "/days/")


def test_signing_out_takes_a_post(maker: Client) -> None:
    assert maker.get("/sign-out/").status_code == 405
    assert maker.get("/today/").status_code == 200

    maker.post("/sign-out/")

    assert maker.get("/today/").status_code == 302


@pytest.fixture
def works_at_both(dairy: Dairy, stranger: Scope) -> Scope:
    return Scope(Membership.objects.create(user=dairy.maker.user, premises=stranger.premises, role="helper"))


def test_somebody_of_two_dairies_chooses_first(works_at_both: Scope, signed_in: SignedIn) -> None:
    client = signed_in(works_at_both)
    assert client.get("/today/").headers["Location"] == "/choose/"

    answer = client.post("/choose/", {"membership": str(works_at_both.membership.id)})

    assert answer.headers["Location"] == "/today/"
    assert "Glen Dairy" in client.get("/today/").content.decode()


def test_nobody_chooses_a_dairy_where_they_have_no_role(dairy: Dairy, stranger: Scope, maker: Client) -> None:
    answer = maker.post("/choose/", {"membership": str(stranger.membership.id)}, follow=True)

    assert "You have no role at that dairy" in answer.content.decode()
    assert "Glen Dairy" not in maker.get("/today/").content.decode()


def test_choosing_never_leads_to_another_site(dairy: Dairy, maker: Client) -> None:
    answer = maker.post(
        "/choose/", {"membership": str(dairy.maker.membership.id), "next": "https://elsewhere.example/"}
    )

    assert answer.headers["Location"] == "/today/"


def test_a_person_reads_in_the_units_they_chose(dairy: Dairy, maker: Client) -> None:
    saved = dairy.save("Room 1 temperature", "11.0", at=_now(), instrument_id=dairy.thermometer.id)

    maker.post("/preferences/", {"temperature_unit": "°F", "volume_unit": "gal", "mass_unit": "lb"})

    # 11 °C is 51.8 °F: NIST SP 811, appendix B.9, t/°F = 1.8 t/°C + 32.
    page = maker.get(f"/records/{saved.record.id}/").content.decode()
    assert "51.8 °F" in page
    assert "typed: 11.0 °C" in page


def test_a_token_is_shown_once_and_only_its_hash_is_kept(dairy: Dairy, maker: Client) -> None:
    answer = maker.post("/devices/", {"name": "Tablet at vat 1"}).content.decode()
    found = re.search(r'class="token">([^<]+)<', answer)
    assert found is not None

    assert DeviceToken.objects.get().token_sha256 == hash_token(found[1])
    again = maker.get("/devices/").content.decode()
    assert "Tablet at vat 1" in again
    assert found[1] not in again


def test_a_nameless_device_is_refused(dairy: Dairy, maker: Client) -> None:
    assert maker.post("/devices/", {"name": "  "}).status_code == 422
    assert not DeviceToken.objects.exists()


def test_a_device_is_taken_back_by_its_person_and_by_the_owner_only(
    dairy: Dairy, stranger: Scope, signed_in: SignedIn
) -> None:
    signed_in(dairy.maker).post("/devices/", {"name": "Tablet"})
    device = DeviceToken.objects.get()
    url = f"/devices/{device.id}/revoke/"

    assert signed_in(dairy.helper).post(url).status_code == 403
    assert signed_in(stranger).post(url).status_code == 404
    device.refresh_from_db()
    assert device.revoked_at is None

    signed_in(dairy.owner).post(url)
    device.refresh_from_db()
    assert device.revoked_at is not None
    assert "Tablet" not in signed_in(dairy.maker).get("/devices/").content.decode()


def _now() -> datetime:

    return timezone.now()

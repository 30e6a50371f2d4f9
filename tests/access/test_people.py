"""Inviting, roles, leaving, further premises: what people do, and what the ledger says of it."""

import re
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.core import mail
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from django_otp.plugins.otp_totp.models import TOTPDevice

from haccp.access.actions import invitations, people
from haccp.access.models import Invitation
from haccp.ledger import triggers
from haccp.ledger.models import Entry, Log
from haccp.ledger.verification import verify_log
from haccp.premises.actions import device_add
from haccp.premises.errors import ActionError, Conflict, NotAllowed
from haccp.premises.models import DeviceToken, Membership, Premises, User
from haccp.premises.scope import Scope
from tests.dairy import OPENED_AT, PASSWORD, Dairy, open_dairy

pytestmark = pytest.mark.django_db
NEW_PASSWORD = "whey under the long bridge"


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def _browser(scope: Scope) -> Client:
    client = Client()
    client.force_login(scope.user)
    return client


def _kinds(dairy: Dairy) -> list[str]:
    return list(Entry.objects.filter(log_id=dairy.owner.log_id).order_by("index").values_list("kind", flat=True))


def test_the_owner_invites_by_mail_and_the_link_works_once(dairy: Dairy, settings: Any) -> None:
    settings.EMAIL_HOST = "mail.weir.example"
    answer = _browser(dairy.owner).post(
        "/people/invite/", {"email": "Nia@New.example", "name": "Nia", "role": "helper"}
    )
    page = answer.content.decode()

    assert mail.outbox[0].to == ["nia@new.example"]
    link = re.search(r"http://testserver(/invitation/[\w-]+/)", mail.outbox[0].body)
    assert link is not None
    assert link[1] in page
    assert link[1].split("/")[2] not in str(list(Invitation.objects.values_list()))

    stranger = Client()
    offer = stranger.get(link[1]).content.decode()
    assert "Orla Owner asks you to be <strong>helper</strong> at Weir Farm Dairy" in offer
    typed = {"name": "Nia New", "password": NEW_PASSWORD, "password_again": NEW_PASSWORD}
    refused = stranger.post(link[1], typed | {"password_again": "other"})
    assert refused.status_code == 422
    assert 'value="Nia New"' in refused.content.decode()
    assert stranger.post(link[1], typed).status_code == 302
    assert "Weir Farm Dairy" in stranger.get("/today/").content.decode()

    assert Client().get(link[1]).status_code == 404
    with pytest.raises(ActionError, match="used, withdrawn or has expired"):
        invitations.invitation_accept(token=link[1].split("/")[2], name="Eve", password=NEW_PASSWORD)
    came = Membership.objects.get(user__email="nia@new.example")
    assert (came.role, came.given_by) == ("helper", dairy.owner.user)
    assert _kinds(dairy)[-2:] == ["invitation.sent", "membership.granted"]
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_an_invitation_ends_by_time_by_withdrawal_and_by_a_newer_one(dairy: Dairy) -> None:
    sent = timezone.now()
    _, first = invitations.invitation_send(scope=dairy.owner, email="nia@new.example", role="maker", at=sent)
    newer, second = invitations.invitation_send(scope=dairy.owner, email="nia@new.example", role="helper", at=sent)
    assert invitations.open_invitation(first, sent) is None
    last_moment = newer.expires_at - timedelta(seconds=1)
    assert invitations.open_invitation(second, last_moment) == newer
    assert invitations.open_invitation(second, newer.expires_at) is None

    _browser(dairy.owner).post(f"/people/invitations/{newer.id}/withdraw/")

    assert invitations.open_invitation(second, sent) is None
    assert "invitation.withdrawn" in _kinds(dairy)
    with pytest.raises(DatabaseError, match="sealed"), transaction.atomic():
        Invitation.objects.filter(pk=newer.pk).update(role="owner")


def test_somebody_who_works_elsewhere_takes_it_up_signed_in_and_nobody_else_can(dairy: Dairy) -> None:
    elsewhere = open_dairy(name="Glen Dairy")
    _, token = invitations.invitation_send(scope=dairy.owner, email=elsewhere.maker.user.email, role="consultant")
    page = Client().get(f"/invitation/{token}/").content.decode()
    assert "Sign in" in page
    with pytest.raises(Conflict, match="signs in with this address already"):
        invitations.invitation_accept(token=token, name="Eve", password=NEW_PASSWORD)
    with pytest.raises(ActionError, match="another address"):
        invitations.invitation_accept(token=token, user=elsewhere.owner.user)

    client = _browser(elsewhere.maker)
    assert client.post(f"/invitation/{token}/").status_code == 302

    assert "Weir Farm Dairy" in client.get("/plan/").content.decode()
    assert client.get("/people/invite/").status_code == 403
    assert elsewhere.maker.user.memberships.count() == 2


def test_a_weak_password_is_refused_and_leaves_the_invitation_open(dairy: Dairy) -> None:
    _, token = invitations.invitation_send(scope=dairy.owner, email="nia@new.example", role="helper")
    answer = Client().post(
        f"/invitation/{token}/", {"name": "Nia", "password": "password12", "password_again": "password12"}
    )
    assert answer.status_code == 422
    assert not User.objects.filter(email="nia@new.example").exists()
    assert invitations.open_invitation(token, timezone.now()) is not None


def test_a_changed_role_counts_at_once_and_the_earlier_one_stays(dairy: Dairy) -> None:
    client = _browser(dairy.maker)
    assert client.get("/today/").status_code == 200
    device, _ = device_add(scope=dairy.maker, name="tablet")

    changed = people.role_change(scope=dairy.owner, membership_id=dairy.maker.membership.id, role="reviewer")

    assert client.get("/makes/new/").status_code == 403
    device.refresh_from_db()
    assert device.membership == changed
    spans = Membership.objects.filter(user=dairy.maker.user).order_by("since")
    assert [one.role for one in spans] == ["maker", "reviewer"]
    assert spans[0].left_at == spans[1].since
    report = verify_log(Log.objects.get(pk=dairy.owner.log_id))
    assert report.holds, report.problem
    assert "Earlier roles" in client.get("/people/").content.decode()


def test_a_leaver_is_out_at_once_and_their_records_stay(dairy: Dairy) -> None:
    saved = dairy.save("Room 1 temperature", "11.0", at=OPENED_AT, instrument_id=dairy.thermometer.id)
    client = _browser(dairy.maker)
    device_add(scope=dairy.maker, name="tablet")

    _browser(dairy.owner).post(f"/people/{dairy.maker.membership.id}/left/")

    assert client.get("/today/").headers["Location"] == "/choose/"
    assert not DeviceToken.objects.filter(revoked_at__isnull=True).exists()
    page = _browser(dairy.owner).get(f"/records/{saved.record.id}/").content.decode()
    assert "Milo Maker" in page
    # Asked back later: another role, and the earlier span as it was.
    _, token = invitations.invitation_send(scope=dairy.owner, email=dairy.maker.user.email, role="maker")
    invitations.invitation_accept(token=token, user=dairy.maker.user)
    assert client.get("/today/").status_code == 200
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_a_person_leaves_by_themselves_but_not_the_last_owner(dairy: Dairy) -> None:
    assert _browser(dairy.helper).post("/people/leave/", {"sure": "1"}).headers["Location"] == "/choose/"
    owner = _browser(dairy.owner)
    assert "needs an owner" in owner.post("/people/leave/", {"sure": "1"}).content.decode()
    refused = owner.post(f"/people/{dairy.owner.membership.id}/", {"role": "helper"})
    assert refused.status_code == 422
    assert "needs an owner" in refused.content.decode()

    people.role_change(scope=dairy.owner, membership_id=dairy.maker.membership.id, role="owner")
    owner.post("/people/leave/", {"sure": "1"})

    assert owner.get("/today/").status_code == 302


def test_nobody_but_the_owner_gives_roles(dairy: Dairy) -> None:
    for scope in (dairy.maker, dairy.helper):
        with pytest.raises(NotAllowed):
            invitations.invitation_send(scope=scope, email="x@x.example", role="owner")
        with pytest.raises(NotAllowed):
            people.role_change(scope=scope, membership_id=scope.membership.id, role="owner")
        with pytest.raises(NotAllowed):
            people.person_leave(scope=scope, membership_id=dairy.owner.membership.id)
    page = _browser(dairy.helper).get("/people/").content.decode()
    assert "Milo Maker" in page
    assert dairy.maker.user.email not in page


def test_a_role_changed_behind_the_triggers_is_named(dairy: Dairy) -> None:
    helper = Membership.objects.filter(pk=dairy.helper.membership.pk)
    for change in ({"role": "owner"}, {"since": OPENED_AT - timedelta(days=1)}):
        with pytest.raises(DatabaseError, match="sealed"), transaction.atomic():
            helper.update(**change)
    people.person_leave(scope=dairy.owner, membership_id=dairy.maker.membership.id)
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic():
        Membership.objects.filter(pk=dairy.maker.membership.pk).update(left_at=None)
    with triggers.lifted(connection):
        helper.update(role="owner")
    problem = verify_log(Log.objects.get(pk=dairy.owner.log_id)).problem
    assert f"membership:{dairy.helper.membership.id} was changed" in problem
    assert "role was" in problem


def test_further_premises_of_the_producer(dairy: Dairy) -> None:
    client = _browser(dairy.owner)
    typed = {"premises_id": str(uuid4()), "name": "High Barn", "time_zone": "Europe/Nowhere", "jurisdiction": "EU"}
    refused = client.post("/premises/add/", typed)
    assert refused.status_code == 422
    assert 'value="High Barn"' in refused.content.decode()

    client.post("/premises/add/", typed | {"time_zone": "Europe/Dublin"})

    barn = Premises.objects.get(name="High Barn")
    assert barn.producer == dairy.owner.premises.producer
    assert barn.log_id != dairy.owner.log_id
    page = client.get("/people/").content.decode()
    assert "High Barn" in page
    assert "Milo Maker" not in page
    assert verify_log(barn.log).holds
    again = typed | {"premises_id": str(uuid4()), "time_zone": "Europe/Dublin"}
    assert client.post("/premises/add/", again).status_code == 422


def test_owners_whose_password_alone_opens_the_dairy_are_named_to_owners(dairy: Dairy) -> None:
    name = dairy.owner.user.name
    warning = "Whoever learns the password of one of these owners"
    page = _browser(dairy.owner).get("/people/").content.decode()
    assert f"opens the whole dairy: {name}. An authenticator" in " ".join(page.split())
    assert warning not in _browser(dairy.maker).get("/people/").content.decode()

    device = TOTPDevice.objects.create(user=dairy.owner.user, confirmed=False, name="authenticator")
    assert warning in _browser(dairy.owner).get("/people/").content.decode()
    device.confirmed = True
    device.save()
    assert warning not in _browser(dairy.owner).get("/people/").content.decode()


def test_the_list_of_people_takes_as_many_queries_for_many(dairy: Dairy) -> None:
    client = _browser(dairy.owner)

    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            client.get("/people/")
        return len(caught)

    with time_machine.travel(timezone.now() + timedelta(minutes=1)):
        invitations.invitation_send(scope=dairy.owner, email="a@x.example", role="helper")
        people.role_change(scope=dairy.owner, membership_id=dairy.maker.membership.id, role="helper")
        queries()  # notes that the session is in use
        few = queries()
        for number in range(4):
            invitations.invitation_send(scope=dairy.owner, email=f"b{number}@x.example", role="helper")
            user = User.objects.create_user(email=f"c{number}@x.example", name="C", password=PASSWORD)
            _, token = invitations.invitation_send(scope=dairy.owner, email=user.email, role="maker")
            membership = invitations.invitation_accept(token=token, user=user)
            people.role_change(scope=dairy.owner, membership_id=membership.id, role="helper")
        assert queries() == few

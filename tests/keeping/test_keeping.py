"""How long records are kept by published rules, and the page on which an owner takes everything away."""

import io
import json
import zipfile
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import Client
from django.utils import timezone

from haccp.access.actions import people
from haccp.keeping import actions, retention
from haccp.keeping.models import PremisesExport
from haccp.ledger.models import Entry
from haccp.plan import library_store
from haccp.premises.errors import Conflict, NotAllowed
from haccp.premises.models import Premises
from tests.dairy import OPENED_AT, Dairy, open_dairy

pytestmark = pytest.mark.django_db


@pytest.fixture
def dairy() -> Dairy:
    opened = open_dairy()
    library_store.library_ready(at=OPENED_AT)
    return opened


def signed_in(dairy: Dairy, who: str) -> Client:
    client = Client()
    client.force_login(getattr(dairy, who).user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_two_years_in_the_united_states_and_no_number_in_europe(dairy: Dairy) -> None:
    """21 CFR 117.315(a)(1): at least 2 years after the date of preparation. Regulation (EC) 852/2004, article 5(4)(c):
    for an appropriate period."""
    american = {kept.kind: kept for kept in retention.kinds_in("US")}
    assert american["monitoring"].months == 24
    assert [rule.clause for rule in american["monitoring"].rules if rule.months] == ["117.315(a)(1)"]
    # What a plan with grading or charts is asked for besides is shorter, and does not shorten it.
    assert american["heat"].months == american["make"].months == 24
    european = {kept.kind: kept for kept in retention.kinds_in("EU")}
    assert european["monitoring"].months is None
    assert any("852/2004" in rule.document for rule in european["monitoring"].rules)
    assert set(american) == set(european) == set(retention.KINDS)


def test_every_rule_that_is_named_is_in_the_library(dairy: Dairy) -> None:
    known = set(library_store.stored_library().values)
    assert {key for _, keys in retention.KINDS.values() for key in keys} <= known


def test_two_years_end_on_the_same_day_of_the_calendar(dairy: Dairy) -> None:
    def until(day: date) -> date:
        found = retention.kept_until("US", day)
        assert found is not None
        return found[0]

    assert until(date(2026, 3, 10)) == date(2028, 3, 10)
    assert until(date(2024, 2, 29)) == date(2026, 2, 28)
    assert retention.kept_until("EU", date(2026, 3, 10)) is None


def test_a_name_stays_while_its_records_are_kept(dairy: Dairy) -> None:
    Premises.objects.update(jurisdiction="US")
    people.person_leave(scope=dairy.owner, membership_id=dairy.maker.membership.id, at=timezone.now())
    last = Entry.objects.order_by("-recorded_at").first()
    assert last is not None
    dairy.save("Room 1 temperature", "11.0", at=timezone.now(), scope=dairy.helper, instrument_id=dairy.thermometer.id)
    people.person_leave(scope=dairy.owner, membership_id=dairy.helper.membership.id, at=timezone.now())
    call = ["erase_person", dairy.helper.user.email, "--reason", "Asked on paper.", "--by", "R. Keeper"]
    with pytest.raises(CommandError, match=r"kept with their name until .*117\.315\(a\)\(1\)"):
        call_command(*call)
    dairy.helper.user.refresh_from_db()
    assert "@erased.invalid" not in dairy.helper.user.email
    call_command(*call, "--although-kept")
    dairy.helper.user.refresh_from_db()
    assert "@erased.invalid" in dairy.helper.user.email


def test_the_owner_takes_everything_away(dairy: Dairy, settings: Any, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path
    client, export_id = signed_in(dairy, "owner"), uuid4()
    for _ in range(2):  # a double tap is one export
        assert client.post("/keeping/", {"export_id": str(export_id)}).status_code == 302
    assert PremisesExport.objects.count() == 1
    with pytest.raises(Conflict, match="is being made already"):
        actions.export_request(scope=dairy.owner, export_id=uuid4())
    assert client.get(f"/keeping/{export_id}/file/").status_code == 404
    assert "refresh" in client.get("/keeping/").content.decode()

    assert actions.export_make(export_id=export_id)
    assert not actions.export_make(export_id=export_id)

    answer = client.get(f"/keeping/{export_id}/file/")
    assert answer.headers["Content-Disposition"].startswith("attachment")
    with zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content))) as archive:  # type: ignore[attr-defined]
        assert json.loads(archive.read("manifest.json"))["premises"]["id"] == str(dairy.owner.premises.pk)
    sealed = Entry.objects.get(kind=actions.SEALED)
    assert PremisesExport.objects.get().sha256 in sealed.body
    # The next one takes its place.
    later = actions.export_request(scope=dairy.owner, export_id=uuid4())
    assert actions.export_make(export_id=later.pk)
    assert client.get(f"/keeping/{export_id}/file/").status_code == 404
    assert len(list((tmp_path / "exports").iterdir())) == 1


def test_others_read_what_is_kept_and_take_nothing(dairy: Dairy) -> None:
    client = signed_in(dairy, "maker")
    page = client.get("/keeping/").content.decode()
    assert "852/2004" in page
    assert "Make the file" not in page
    assert client.post("/keeping/", {"export_id": str(uuid4())}).status_code == 403
    with pytest.raises(NotAllowed):
        actions.export_request(scope=dairy.maker, export_id=uuid4())


def test_a_full_disk_is_said_and_nothing_is_left(
    dairy: Dairy, settings: Any, tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.MEDIA_ROOT = tmp_path

    def full(*arguments: object, **named: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(actions, "write_premises", full)
    export = actions.export_request(scope=dairy.owner, export_id=uuid4())
    for _ in range(actions.MOST_ATTEMPTS):
        assert not actions.export_make(export_id=export.pk)
    export.refresh_from_db()
    assert "the disk is full" in export.failure
    assert not list(tmp_path.rglob("*.zip"))


def test_one_that_was_cut_off_is_taken_up_again(dairy: Dairy, settings: Any, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path
    export = actions.export_request(scope=dairy.owner, export_id=uuid4())
    PremisesExport.objects.update(claimed_until=timezone.now() + timedelta(minutes=5), attempts=1)
    assert actions.exports_left() == []
    late = datetime.now(UTC) + timedelta(hours=1)
    assert actions.exports_left(now=late) == [export.pk]
    assert actions.export_make(export_id=export.pk, now=late)

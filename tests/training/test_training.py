"""Who was trained in what, and until when it counts.

That people are trained as befits their work, and that it is kept on record: Regulation (EC) 852/2004, Annex II,
chapter XII, and 21 CFR 117.4(d), from memory.
"""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
import time_machine
from django.db import DatabaseError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from haccp.ledger.verification import verify_log
from haccp.premises.errors import ActionError, Conflict
from haccp.training.actions import training_record
from haccp.training.models import Training
from haccp.training.queries import ending_soon, standings
from tests.dairy import Dairy, open_dairy
from tests.web.pages import reader, signed_in, stranger

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 20, 12, 0, tzinfo=UTC)
TODAY = NOW.date()
DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def _clock() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def train(dairy: Dairy, subject: str = "Food hygiene", **more: object) -> Training:
    arguments: dict[str, object] = {
        "training_id": uuid4(), "person_id": dairy.helper.user.pk, "given_by": "Weir College",
        "given_on": TODAY - 700 * DAY, "valid_until": TODAY + 10 * DAY,
    }  # fmt: skip
    return training_record(scope=dairy.maker, subject=subject, **(arguments | more))  # type: ignore[arg-type]


def test_what_ends_is_told_before_it_does_and_after_until_it_is_given_again(dairy: Dairy) -> None:
    premises = dairy.owner.premises
    train(dairy)
    train(dairy, "The pasteuriser", valid_until=None)
    client = signed_in(dairy.helper)
    told = {one.training.subject: (one.is_soon, one.is_over) for one in standings(premises, TODAY)}
    assert told == {"Food hygiene": (True, False), "The pasteuriser": (False, False)}
    assert "Food hygiene: training ends" in client.get(reverse("checks:today")).content.decode()

    later = NOW + 11 * DAY
    [work] = ending_soon(dairy.owner, later)
    assert (work.title, work.due_on) == (
        f"{dairy.helper.user.name}: Food hygiene: training has run out",
        TODAY + 10 * DAY,
    )
    with time_machine.travel(later, tick=False):
        client = signed_in(dairy.helper)
        page = client.get(reverse("training:overview")).content.decode()
        assert "ran out" in page
        # Given again, in other letters: it is the same subject
        train(dairy, "food hygiene", given_on=later.date(), valid_until=later.date() + 730 * DAY)
        assert ending_soon(dairy.owner, later) == []
        assert "ran out" not in client.get(reverse("training:overview")).content.decode()
    assert Training.objects.count() == 3
    assert verify_log(premises.log).holds
    with pytest.raises(DatabaseError), transaction.atomic():
        Training.objects.update(valid_until=None)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"person_id": uuid4()}, "person"),
        ({"subject": " "}, "subject"),
        ({"given_by": ""}, "given_by"),
        ({"given_on": TODAY + DAY}, "given_on"),
        ({"valid_until": date(2020, 1, 1)}, "valid_until"),
        ({"valid_until": date(2126, 1, 1)}, "valid_until"),
    ],
)
def test_what_cannot_be_is_refused_with_its_field(dairy: Dairy, typed: dict[str, object], field: str) -> None:
    with pytest.raises(ActionError) as refused:
        train(dairy, **({"subject": "Food hygiene"} | typed))  # type: ignore[arg-type]
    assert field in refused.value.fields
    assert not Training.objects.exists()


def test_pages_and_api(dairy: Dairy) -> None:
    client, address = signed_in(dairy.maker), reverse("training:given")
    form = {
        "training_id": str(uuid4()), "person": str(dairy.helper.user.pk), "subject": "Cleaning", "given_by": "",
        "given_on": "2026-03-01", "valid_until": "",
    }  # fmt: skip
    refused = client.post(address, form)
    assert refused.status_code == 422
    assert 'value="Cleaning"' in refused.content.decode()
    for _ in range(2):
        assert client.post(address, form | {"given_by": "Milo"}).status_code == 302
    assert Training.objects.count() == 1
    with pytest.raises(Conflict):
        train(dairy, training_id=Training.objects.get().pk)
    assert '<option value="Cleaning">' in client.get(address).content.decode()

    body = {
        "id": str(uuid4()), "person": str(dairy.helper.user.pk), "subject": "HACCP", "given_by": "Weir College",
        "given_on": "2026-03-02", "valid_until": None,
    }  # fmt: skip
    assert client.post("/api/v1/trainings/", body, content_type="application/json").status_code == 201
    assert [one["subject"] for one in client.get("/api/v1/trainings/").json()["results"]] == ["HACCP", "Cleaning"]

    def cost() -> int:
        with CaptureQueriesContext(connection) as asked:
            assert client.get(reverse("training:overview")).status_code == 200
        return len(asked)

    few = cost()
    for n in range(3):
        train(dairy, f"Subject {n}")
    assert cost() == few
    assert stranger().get(reverse("training:overview")).content.decode().count("HACCP") == 0
    onlooker = reader(dairy)
    assert onlooker.get(reverse("training:overview")).status_code == 200
    assert onlooker.post(address, form).status_code == 403

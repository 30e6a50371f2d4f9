"""A fingerprint from paper, compared on a page: RFC 9162 heads of the log as it was then."""

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from haccp.ledger import queries as ledger
from haccp.ledger import triggers
from haccp.ledger.head import fingerprint
from haccp.ledger.models import Entry
from tests.dairy import OPENED_AT, Dairy, open_dairy
from tests.web.pages import reader, signed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def told(client: Client, typed: str, status: int = 200) -> str:
    answer = client.get(reverse("reports:fingerprints"), {"fingerprint": typed})
    assert answer.status_code == status
    return answer.content.decode()


def test_it_fits_for_as_long_as_the_entries_before_it_are_what_they_were(dairy: Dairy) -> None:
    client, log_id = reader(dairy), dairy.owner.log_id
    printed = fingerprint(ledger.head(log_id))
    dairy.receive_milk(at=OPENED_AT)
    size = int(printed.partition("/")[2])
    assert f"The first {size} entries are still" in told(client, printed)
    assert "It fits" in told(client, printed.lower().replace("-", " "))
    other = open_dairy(name="Glen Dairy")
    for _ in range(3):
        other.receive_milk(at=OPENED_AT)
    assert "It does not fit" in told(signed_in(other.owner), printed)
    letter = "B" if printed[0] == "A" else "A"
    assert "It does not fit" in told(client, letter + printed[1:])
    assert "there are only" in told(client, f"{printed.partition('/')[0]}/99999")
    for nonsense in ("", "NY2A", "NY2A-WOM4-7767-5BBL", "NY2A-WOM4-7767-5BB1/3", "<b>"):
        assert "It fits" not in told(client, nonsense, 422)
    assert fingerprint(ledger.head(log_id)) in told(client, printed)


def test_an_entry_that_an_owner_of_the_database_altered_shows(dairy: Dairy) -> None:
    client, printed = signed_in(dairy.owner), fingerprint(ledger.head(dairy.owner.log_id))
    entry = Entry.objects.filter(log_id=dairy.owner.log_id).order_by("index")[2]
    with triggers.lifted(connection):
        Entry.objects.filter(pk=entry.pk).update(body=entry.body.replace("a", "b", 1))
    dairy.receive_milk(at=OPENED_AT)
    page = told(client, printed)
    assert "It does not fit" in page
    assert "entry 2" in page.lower()

"""Another premises of a producer who has one: by the command, and by the action that it calls."""

from uuid import uuid4

import pytest
from django.core.management import CommandError, call_command

from haccp.premises.actions import premises_add
from haccp.premises.errors import ActionError, NotAllowed
from haccp.premises.models import Membership, Premises
from tests.dairy import Dairy, open_dairy

pytestmark = pytest.mark.django_db
GIVEN = {
    "beside": "Weir Farm Dairy",
    "email": "Owner@weir.example",
    "name": "The Cave",
    "time_zone": "Europe/Dublin",
    "jurisdiction": "EU",
}


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def test_it_belongs_to_the_same_producer_and_owner_and_has_a_log_of_its_own(dairy: Dairy) -> None:
    call_command("open_premises", **GIVEN)
    cave = Premises.objects.get(name="The Cave")
    assert cave.producer == dairy.owner.premises.producer
    assert cave.log_id != dairy.owner.log_id
    assert [(one.user, one.role) for one in Membership.objects.filter(premises=cave)] == [(dairy.owner.user, "owner")]
    with pytest.raises(CommandError, match="has this name"):
        call_command("open_premises", **GIVEN)


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"email": "helper@weir.example"}, "owns no premises"),
        ({"beside": "Glen Dairy"}, "owns no premises"),
        ({"time_zone": "Europe/Cheese"}, "such as Europe/Madrid"),
    ],
)
def test_a_wrong_answer_makes_nothing(dairy: Dairy, changed: dict[str, str], sentence: str) -> None:
    with pytest.raises(CommandError, match=sentence):
        call_command("open_premises", **GIVEN | changed)
    assert Premises.objects.count() == 1


def test_the_owner_alone_opens_one_and_sent_twice_it_is_one(dairy: Dairy) -> None:
    sent = {"premises_id": uuid4(), "name": "The Cave", "time_zone": "Europe/Dublin", "jurisdiction": "EU"}
    with pytest.raises(NotAllowed):
        premises_add(scope=dairy.maker, **sent)  # type: ignore[arg-type]
    with pytest.raises(ActionError) as refused:
        premises_add(scope=dairy.owner, premises_id=uuid4(), name=" ", time_zone="", jurisdiction="XX")
    assert set(refused.value.fields) == {"name", "time_zone", "jurisdiction"}
    first = premises_add(scope=dairy.owner, **sent)  # type: ignore[arg-type]
    assert premises_add(scope=dairy.owner, **sent).premises == first.premises  # type: ignore[arg-type]
    assert Premises.objects.count() == 2

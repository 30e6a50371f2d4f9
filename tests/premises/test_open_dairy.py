"""The command that opens the first dairy."""

import pytest
from django.core.management import CommandError, call_command

from haccp.premises.models import Membership, Premises, User

pytestmark = pytest.mark.django_db
GIVEN = {
    "name": "Ash Hollow Dairy",
    "time_zone": "Europe/Madrid",
    "jurisdiction": "EU",
    "owner": "Ines Ash",
    "email": "Ines@ash.example",
}


def answer_password(monkeypatch: pytest.MonkeyPatch, *answers: str) -> None:
    waiting = list(answers)
    monkeypatch.setattr("getpass.getpass", lambda _prompt: waiting.pop(0))


def test_it_opens_a_dairy_whose_owner_can_sign_in(monkeypatch: pytest.MonkeyPatch) -> None:
    answer_password(monkeypatch, "nine quiet goats", "nine quiet goats")
    call_command("open_dairy", **GIVEN)

    owner = User.objects.get(email="ines@ash.example")
    assert owner.check_password("nine quiet goats")
    assert Membership.objects.get(user=owner).role == "owner"
    assert Premises.objects.get().log.size == 1  # the owner's role is the first entry


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"time_zone": "Europe/Cheese"}, "is not a time zone"),
        ({"email": "ines"}, "is not an e-mail address"),
    ],
)
def test_a_wrong_answer_makes_nothing(monkeypatch: pytest.MonkeyPatch, changed: dict[str, str], sentence: str) -> None:
    answer_password(monkeypatch, "nine quiet goats", "nine quiet goats")
    with pytest.raises(CommandError, match=sentence):
        call_command("open_dairy", **GIVEN | changed)
    assert not Premises.objects.exists()


def test_passwords_that_differ_or_are_too_short_make_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    answer_password(monkeypatch, "nine quiet goats", "ten quiet goats")
    with pytest.raises(CommandError, match="differ"):
        call_command("open_dairy", **GIVEN)
    answer_password(monkeypatch, "short")
    with pytest.raises(CommandError, match="too short"):
        call_command("open_dairy", **GIVEN)
    assert not Premises.objects.exists()

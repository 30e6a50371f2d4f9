"""Six weeks in which nobody opened the site: what the pages show of them, and one answer for many."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from haccp.checks import actions as checks
from haccp.checks.models import MissedCheck, MissedReason
from haccp.checks.unanswered import unanswered
from haccp.premises.scope import Scope
from tests.dairy import Dairy, open_dairy
from tests.web.conftest import hidden, page_of

SignedIn = Callable[[Scope], Client]

pytestmark = pytest.mark.django_db
AWAY = timedelta(weeks=6)
BACK = datetime(2026, 4, 14, 9, 0, tzinfo=UTC)


@pytest.fixture
def left_alone() -> Dairy:
    dairy = open_dairy()
    checks.sweep(now=BACK - AWAY)
    checks.sweep(now=BACK)
    return dairy


def post(client: Client, page: str, **ticked: object) -> str:
    answer = client.post("/missed/", {"shown_at": hidden(page, "shown_at"), **ticked}, follow=True)
    return answer.content.decode()


def test_what_is_missed_is_shown_by_kind_and_answered_together(left_alone: Dairy, signed_in: SignedIn) -> None:
    with time_machine.travel(BACK, tick=False):
        maker = signed_in(left_alone.maker)
        kinds = unanswered(left_alone.owner.premises)
        total = MissedCheck.objects.count()
        assert total == sum(one.count for one in kinds) > 80
        assert len(kinds) < 5
        today = page_of(maker.get("/today/"))
        assert f"nobody has said why: {total}" in today
        assert today.count("Say why</span>") == len(kinds) + 1

        page = page_of(maker.get("/missed/"))
        assert f"{kinds[0].count} times" in page
        answer = post(maker, page, kind=[kinds[0].key], chosen="Nobody was at the dairy.", text="Flooded road.")

    assert f"recorded for each of {kinds[0].count}" in answer
    assert MissedReason.objects.count() == kinds[0].count
    assert set(MissedReason.objects.values_list("text", flat=True)) == {"Nobody was at the dairy. Flooded road."}
    assert unanswered(left_alone.owner.premises) == kinds[1:]


def test_what_was_flagged_after_the_page_was_made_is_not_answered_with_it(
    left_alone: Dairy, signed_in: SignedIn
) -> None:
    key = unanswered(left_alone.owner.premises)[0].key
    with time_machine.travel(BACK, tick=False) as clock:
        maker = signed_in(left_alone.maker)
        page = page_of(maker.get("/missed/"))
        clock.move_to(BACK + timedelta(days=2))
        checks.sweep(now=BACK + timedelta(days=2))
        maker = signed_in(left_alone.maker)
        post(maker, page, kind=[key], chosen="It was forgotten.")
    assert [one.count for one in unanswered(left_alone.owner.premises) if one.key == key] == [2]


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({"chosen": "It was forgotten."}, "Choose what the reason is for."),
        ({"kind": ["nonsense"], "text": "So it was."}, "Choose what the reason is for."),
        ({"kind": ["first"]}, "Say in a few words why it was not done."),
    ],
)
def test_an_answer_that_cannot_be_taken_loses_nothing(
    left_alone: Dairy, signed_in: SignedIn, sent: dict[str, object], sentence: str
) -> None:
    kinds = unanswered(left_alone.owner.premises)
    if sent.get("kind") == ["first"]:
        sent = {"kind": [kinds[0].key]}
    with time_machine.travel(BACK, tick=False):
        maker = signed_in(left_alone.maker)
        answer = post(maker, page_of(maker.get("/missed/")), **sent)
    assert sentence in answer
    assert not MissedReason.objects.exists()
    if sent.get("text"):
        assert str(sent["text"]) in answer
    if sent.get("kind") == [kinds[0].key]:
        assert f'value="{kinds[0].key}" checked' in answer


def test_as_many_queries_for_six_weeks_as_for_a_day(signed_in: SignedIn) -> None:
    dairy = open_dairy()
    checks.sweep(now=BACK - AWAY)

    def queries(path: str, at: datetime) -> int:
        with time_machine.travel(at, tick=False):
            checks.sweep(now=at)
            maker = signed_in(dairy.maker)
            maker.get(path)
            with CaptureQueriesContext(connection) as captured:
                assert maker.get(path).status_code == 200
        return len(captured)

    few = {path: queries(path, BACK - AWAY + timedelta(days=2)) for path in ("/today/", "/missed/")}
    assert {path: queries(path, BACK) for path in few} == few

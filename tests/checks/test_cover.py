"""Whose check it is, hand-over while somebody is away, and critical checks that nobody covers."""

from datetime import timedelta
from uuid import UUID, uuid4

import pytest

from haccp.checks import actions as checks
from haccp.checks.cover import cover_of, uncovered
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.plan.queries import findings_of
from haccp.premises.errors import ActionError, NotAllowed
from tests.dairy import OPENED_AT, open_dairy

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def test_a_person_away_hands_over_and_what_nobody_covers_is_said() -> None:
    dairy = open_dairy()
    premises, now = dairy.owner.premises, OPENED_AT + DAY
    today = premises.local_date(now)
    room = dairy.check("Room 1 temperature")
    assert uncovered(premises, now) == []
    checks.keeper_set(
        scope=dairy.owner, keeper_id=uuid4(), check_id=room.id, membership_id=dairy.maker.membership.id, now=now
    )

    def away(scope, whose, first, last, stand_in=None):  # type: ignore[no-untyped-def]
        return checks.absence_add(
            scope=scope,
            absence_id=uuid4(),
            membership_id=whose.membership.id,
            first=first,
            last=last,
            stand_in_id=stand_in.membership.id if stand_in else None,
            now=now,
        )

    absence = away(dairy.maker, dairy.maker, today + 2 * DAY, today + 30 * DAY)
    (bare,) = uncovered(premises, now)
    assert (bare.check, bare.first, bare.days) == (room, today + 2 * DAY, 5)
    assert "Milo Maker is away and nobody stands in" in bare.sentence
    found = [one for one in findings_of(dairy.revision, now) if one.rule == "check.nobody_covers"]
    assert [one.part_key for one in found] == [room.key]

    # Said anew, with a stand-in: what was said last counts.
    away(dairy.maker, dairy.maker, today + 2 * DAY, today + 30 * DAY, dairy.helper)
    assert uncovered(premises, now) == []
    doer = cover_of(premises).doer(room, today + 3 * DAY)
    assert doer.person == dairy.helper.membership
    assert doer.instead_of == dairy.maker.membership
    # The stand-in goes away as well, and hands back: nobody.
    away(dairy.owner, dairy.helper, today + 3 * DAY, today + 4 * DAY, dairy.maker)
    (bare,) = uncovered(premises, now)
    assert (bare.first, bare.days) == (today + 3 * DAY, 2)
    assert "stand in for each other" in bare.why
    checks.absence_end(scope=dairy.maker, absence_id=absence.id, on=today + 2 * DAY, now=now)
    with pytest.raises(ActionError, match="somebody else"):
        away(dairy.maker, dairy.maker, today, today, dairy.maker)
    with pytest.raises(ActionError, match="over"):
        away(dairy.maker, dairy.maker, today - 3 * DAY, today - DAY)
    with pytest.raises(NotAllowed):
        away(dairy.helper, dairy.maker, today, today)
    # Whose own check nobody's is: uncovered when everybody who records is away.
    heat = dairy.check("Heat treatment")
    for scope in (dairy.owner, dairy.maker, dairy.helper):
        away(dairy.owner, scope, today + 6 * DAY, today + 6 * DAY)
    assert heat in [one.check for one in uncovered(premises, now)]
    assert cover_of(premises).keepers == {UUID(room.key): dairy.maker.membership.id}
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds

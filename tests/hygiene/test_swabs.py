"""Environmental swabs by rota, finds with their deviation and the lots, and a surface that may not be used."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest

from batches.hygiene import actions as hygiene
from batches.hygiene.cleanliness import cleanliness
from batches.hygiene.environment import points_now
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.premises.errors import ActionError
from tests.dairy import OPENED_AT, Dairy, open_dairy
from tests.hygiene.test_cleaning import give_method

pytestmark = pytest.mark.django_db
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


def test_a_find_on_a_surface_names_the_cheese_and_a_second_one_stops_the_use() -> None:
    dairy = open_dairy()
    premises = dairy.owner.premises
    before, now = OPENED_AT + DAY, OPENED_AT + 3 * DAY
    method, _ = give_method(dairy, now=OPENED_AT + 20 * DAY)
    points = {
        name: hygiene.swab_point_add(
            scope=dairy.owner, point_id=uuid4(), place_id=place.id, name=name, zone=zone, now=OPENED_AT
        )
        for name, place, zone in (("Valve", dairy.vat, 1), ("Paddle", dairy.vat, 1), ("Drain", dairy.room, 3))
    }
    with pytest.raises(ActionError, match="Set a rota"):
        _find(dairy, points["Drain"].id, "D-0", now)
    for zone, at_once in ((1, 1), (3, 1)):
        hygiene.rota_set(
            scope=dairy.owner,
            rota_id=uuid4(),
            zone=zone,
            first_on=premises.local_date(OPENED_AT),
            every_days=7,
            at_once=at_once,
            control_point_code="PRP 2",
            now=OPENED_AT,
        )
    due = {one.point.name for one in points_now(premises, now) if one.due_on is not None}
    assert due == {"Paddle"}  # in their order of name; the drain was swabbed above
    later = {one.point.name for one in points_now(premises, OPENED_AT + 8 * DAY) if one.due_on is not None}
    assert later == {"Paddle", "Valve", "Drain"}

    _result(dairy, points["Valve"].id, "V-1", before, "nothing")
    old = dairy.start_make(at=before - 2 * HOUR)
    dairy.event(old, "placed_in_room", at=before - HOUR, place=dairy.room)
    touched = dairy.start_make(at=before + 5 * HOUR)
    first = _find(dairy, points["Valve"].id, "V-2", now)
    assert [one.lot_id for one in first.deviation.implicated.all()] == [touched.lot_id]
    assert old.lot_id not in {one.lot_id for one in first.deviation.implicated.all()}
    assert _find(dairy, points["Drain"].id, "D-1", now).deviation.implicated.count() == 0
    second = _find(dairy, points["Valve"].id, "V-3", now + DAY)
    assert "for the second time" in second.deviation.summary
    after = OPENED_AT + 21 * DAY
    assert "Listeria was found 2 times" in cleanliness(dairy.vat, after).reason
    for number in range(3):
        assert "Listeria" in cleanliness(dairy.vat, after).reason
        _result(dairy, points["Valve"].id, f"V-{4 + number}", now + (2 + number) * DAY, "nothing")
    assert "Listeria" not in cleanliness(dairy.vat, after).reason
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds
    assert method.name


def _result(dairy: Dairy, point_id: Any, code: str, at: Any, found: str) -> Any:
    swab = hygiene.swab_take(scope=dairy.maker, swab_id=uuid4(), point_id=point_id, code=code, taken_at=at, now=at)  # type: ignore[arg-type]
    return hygiene.swab_result_add(
        scope=dairy.maker,
        swab_id=swab.id,
        found=found,
        laboratory="County laboratory",
        report="R 1",
        reported_on=dairy.owner.premises.local_date(at) + 2 * DAY,  # type: ignore[arg-type]
        now=at,  # type: ignore[arg-type]
    )


def _find(dairy: Dairy, point_id: Any, code: str, at: Any) -> Any:
    return _result(dairy, point_id, code, at, "species")

"""Places and instruments: added, changed, moved, retired, brought back; every change sealed."""

from collections.abc import Callable
from datetime import date
from uuid import uuid4

import pytest

from haccp.ledger.models import Entry, Log
from haccp.ledger.verification import verify_log
from haccp.premises import actions, queries
from haccp.premises.errors import ActionError, Conflict, NotAllowed
from haccp.premises.models import Instrument, Place
from haccp.premises.site_log import seen_sha256
from haccp.premises.uncertainty import uncertainty_in_words, uncertainty_si
from haccp.science.errors import InputError
from tests.dairy import Dairy, open_dairy


@pytest.fixture
def dairy(db: None) -> Dairy:
    return open_dairy()


def said(dairy: Dairy, row: Place | Instrument) -> list[str]:
    return [
        entry.kind
        for entry in Entry.objects.filter(log_id=dairy.owner.log_id, subject__endswith=str(row.pk)).order_by("index")
    ]


def walk(dairy: Dairy) -> list[str]:
    return list(queries.places_of(dairy.owner.premises).values_list("name", flat=True))


def test_a_place_from_its_first_day_to_its_return(dairy: Dairy) -> None:
    place_id = uuid4()
    cave = actions.place_add(scope=dairy.owner, name="  The  Cave ", kind="ripening_room", place_id=place_id)
    assert (cave.pk, cave.name, walk(dairy)[-1]) == (place_id, "The Cave", "The Cave")
    # A double tap is one place; the same id with another name is refused.
    assert actions.place_add(scope=dairy.owner, name="The Cave", kind="ripening_room", place_id=place_id) == cave
    with pytest.raises(Conflict, match="sent before"):
        actions.place_add(scope=dairy.owner, name="Other", kind="ripening_room", place_id=place_id)
    for taken in ("the cave", "VAT 1"):
        with pytest.raises(Conflict, match="already another place named") as refused:
            actions.place_add(scope=dairy.owner, name=taken, kind="vat")
        assert "name" in refused.value.fields
    actions.place_move(scope=dairy.owner, place_id=cave.pk, position=1)
    actions.place_move(scope=dairy.owner, place_id=cave.pk, position=1)  # tapped twice
    assert walk(dairy) == ["The Cave", "Vat 1", "Room 1"]
    cave.refresh_from_db()
    seen = seen_sha256(cave)
    actions.place_change(scope=dairy.owner, place_id=cave.pk, name="Cave 1", kind="cold_store", seen_sha256=seen)
    with pytest.raises(Conflict, match="changed by somebody else"):
        actions.place_change(scope=dairy.owner, place_id=cave.pk, name="Cave 2", kind="cold_store", seen_sha256=seen)
    actions.place_retire(scope=dairy.owner, place_id=cave.pk)
    assert walk(dairy) == ["Vat 1", "Room 1"]
    with pytest.raises(Conflict, match="a retired place named Cave 1; bring it back"):
        actions.place_add(scope=dairy.owner, name="Cave 1", kind="vat")
    with pytest.raises(ActionError, match="is retired"):
        actions.place_move(scope=dairy.owner, place_id=cave.pk, position=1)
    actions.place_restore(scope=dairy.owner, place_id=cave.pk)
    assert walk(dairy) == ["Vat 1", "Room 1", "Cave 1"]
    kinds = said(dairy, cave)
    assert kinds == ["place.added", "place.changed", "place.changed", "place.retired", "place.restored"]
    report = verify_log(Log.objects.get(pk=dairy.owner.log_id))
    assert report.holds, report.problem


def test_a_place_that_the_plan_in_force_needs_is_not_retired(dairy: Dairy) -> None:
    with pytest.raises(ActionError, match="Room 1 temperature” of plan revision 1"):
        actions.place_retire(scope=dairy.owner, place_id=dairy.room.pk)
    assert Place.objects.get(pk=dairy.room.pk).retired_at is None


def test_an_instrument_keeps_what_its_certificate_states(dairy: Dairy) -> None:
    stated = {
        "name": "Probe 2", "kind": "thermometer", "serial": "T-9", "place": dairy.vat, "uncertainty_typed": "0.9 °F",
        "expanded_uncertainty": uncertainty_si("thermometer", 0.9, "°F"), "calibrated_on": date(2026, 1, 5),
        "calibration_valid_until": date(2027, 1, 5), "instrument_id": uuid4(),
    }  # fmt: skip
    probe = actions.instrument_add(scope=dairy.owner, **stated)  # type: ignore[arg-type]
    assert actions.instrument_add(scope=dairy.owner, **stated) == probe  # type: ignore[arg-type]
    probe.refresh_from_db()
    # A width of 0.9 °F is 0.5 °C: 5/9 of it, without the offset (NIST SP 811, B.8).
    assert probe.expanded_uncertainty == pytest.approx(0.5)
    assert uncertainty_in_words(probe) == "0.9 °F"
    change = {key: value for key, value in stated.items() if key != "instrument_id"}
    seen = seen_sha256(probe)
    changed = actions.instrument_change(
        scope=dairy.owner, instrument_id=probe.pk, seen_sha256=seen,
        **(change | {"expanded_uncertainty": 0.2, "uncertainty_typed": "0.2 °C"}),  # type: ignore[arg-type]
    )  # fmt: skip
    assert changed.expanded_uncertainty == 0.2
    with pytest.raises(Conflict, match="changed by somebody else"):
        actions.instrument_change(scope=dairy.owner, instrument_id=probe.pk, seen_sha256=seen, **change)  # type: ignore[arg-type]
    with pytest.raises(Conflict, match="already another instrument named"):
        actions.instrument_change(scope=dairy.owner, instrument_id=probe.pk, **(change | {"name": "ph METER"}))  # type: ignore[arg-type]
    actions.instrument_retire(scope=dairy.owner, instrument_id=probe.pk)
    assert probe not in queries.instruments_of(dairy.owner.premises)
    actions.instrument_restore(scope=dairy.owner, instrument_id=probe.pk)
    assert probe in queries.instruments_of(dairy.owner.premises)
    assert said(dairy, probe) == [f"instrument.{what}" for what in ("added", "changed", "retired", "restored")]


def test_what_cannot_be_stated_of_an_instrument_is_refused_beside_its_field(dairy: Dairy) -> None:
    stranger = open_dairy(name="Other")
    wrong: dict[str, dict[str, object]] = {
        "name": {"name": " "},
        "kind": {"kind": "barometer"},
        "serial": {"serial": "9" * 61},
        "place": {"place": stranger.vat},
        "uncertainty": {"expanded_uncertainty": float("nan")},
        "calibrated_on": {"calibration_valid_until": date(2026, 1, 1)},
        "calibration_valid_until": {"calibrated_on": date(2026, 2, 1), "calibration_valid_until": date(2026, 1, 1)},
    }
    before = Instrument.objects.count()
    for field, values in wrong.items():
        stated: dict[str, object] = {"name": "New", "kind": "thermometer", "expanded_uncertainty": 0.1}
        with pytest.raises(ActionError) as refused:
            actions.instrument_add(scope=dairy.owner, **(stated | values))  # type: ignore[arg-type]
        assert field in refused.value.fields, field
    assert Instrument.objects.count() == before


@pytest.mark.parametrize(
    "act",
    [
        lambda scope, dairy: actions.place_add(scope=scope, name="X", kind="vat"),
        lambda scope, dairy: actions.place_move(scope=scope, place_id=dairy.vat.pk, position=2),
        lambda scope, dairy: actions.place_retire(scope=scope, place_id=dairy.vat.pk),
        lambda scope, dairy: actions.instrument_retire(scope=scope, instrument_id=dairy.recorder.pk),
        lambda scope, dairy: actions.premises_change(scope=scope, name="X", address="", approval_number=""),
    ],
)
def test_only_the_owner_of_this_dairy_manages_it(dairy: Dairy, act: Callable[..., object]) -> None:
    with pytest.raises(NotAllowed):
        act(dairy.maker, dairy)


def test_a_stranger_finds_no_such_place_or_instrument(dairy: Dairy) -> None:
    other = open_dairy(name="Other").owner
    with pytest.raises(ActionError, match="no such place"):
        actions.place_retire(scope=other, place_id=dairy.vat.pk)
    with pytest.raises(ActionError, match="no such instrument"):
        actions.instrument_retire(scope=other, instrument_id=dairy.recorder.pk)


def test_what_papers_say_of_the_dairy_is_changed_and_sealed(dairy: Dairy) -> None:
    actions.premises_change(scope=dairy.owner, name="Weir Farm", address="The Weir", approval_number="IE 1 EC")
    entry = Entry.objects.filter(log_id=dairy.owner.log_id).latest("index")
    assert entry.kind == "premises.changed"
    assert "IE 1 EC" in entry.body
    for field, values in {"name": {"name": ""}, "approval_number": {"approval_number": "9" * 41}}.items():
        with pytest.raises(ActionError) as refused:
            actions.premises_change(
                scope=dairy.owner, **({"name": "Weir Farm", "address": "", "approval_number": ""} | values)
            )
        assert field in refused.value.fields


def test_a_slip_in_the_unit_of_an_uncertainty_is_noticed() -> None:
    assert uncertainty_si("ph_meter", 0.04, "pH") == 0.04
    assert uncertainty_si("scale", 5, "g") == pytest.approx(0.005)
    assert uncertainty_si("test_kit", 20, "") == 20  # in the unit the kit reads in
    for kind, value, unit in (("thermometer", 0.2, "pH"), ("ph_meter", 4, "pH"), ("hygrometer", -1, "%")):
        with pytest.raises(InputError):
            uncertainty_si(kind, value, unit)
    # Without what was typed, as a row of an earlier time is, the stored unit is shown.
    assert uncertainty_in_words(Instrument(kind="thermometer", expanded_uncertainty=0.3)) == "0.3 °C"

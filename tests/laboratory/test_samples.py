"""Samples, their results, what a bad one does, and what is still awaited."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.laboratory import actions
from batches.laboratory.actions import TestAsked as Asked
from batches.laboratory.criteria import criteria_for
from batches.laboratory.models import Sample
from batches.laboratory.models import TestResult as Result
from batches.laboratory.queries import Standing, awaited_of, lines_of, samples_of, trend_of
from haccp.deviations.models import Deviation
from haccp.ledger.verification import verify_log
from haccp.lots.models import Hold, Lot
from haccp.plan.library_store import library_load
from haccp.premises.errors import ActionError, Conflict
from tests.dairy import HOUR, Dairy, open_dairy
from tests.web.pages import reader, signed_in, stranger

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 20, 12, 0, tzinfo=UTC)
DAY = timedelta(days=1)
# Regulation (EC) 2073/2005, annex I, row 2.2.4: coagulase-positive staphylococci
CPS = Asked(kind="count", parameter="Coagulase-positive staphylococci", n=5, c=2, m=100, largest=1000, unit="cfu/g")
# Row 1.2, before leaving the maker
LISTERIA = Asked(kind="absence", parameter="Listeria monocytogenes", n=5, absent_in="25 g")
MOISTURE = Asked(kind="quantity", parameter="moisture", unit="%")


@pytest.fixture(autouse=True)
def _clock() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def take(dairy: Dairy, *tests: Asked, **more: object) -> Sample:
    arguments: dict[str, object] = {
        "scope": dairy.maker,
        "sample_id": uuid4(),
        "laboratory": "County laboratory",
        "tests": list(tests),
        "taken_at": NOW - DAY,
    }
    return actions.sample_take(**(arguments | more))  # type: ignore[arg-type]


def enter(dairy: Dairy, sample: Sample, values: list[str], position: int = 0, **more: object) -> Result:
    arguments: dict[str, object] = {
        "scope": dairy.maker,
        "result_id": uuid4(),
        "test_id": sample.tests.get(position=position).pk,
        "values": values,
        "reported_at": NOW - HOUR,
    }
    return actions.result_enter(**(arguments | more))  # type: ignore[arg-type]


def held(lot: Lot) -> bool:
    return Hold.objects.standing().filter(lot=lot).exists()


def test_a_bad_result_opens_a_deviation_and_holds_the_batch(dairy: Dairy) -> None:
    """Row 2.2.4: more than M in one unit, or more than c above m, is unsatisfactory."""
    make = dairy.start_make(at=NOW - 5 * DAY)
    sample = take(dairy, CPS, LISTERIA, MOISTURE, lot_id=make.lot_id)
    assert sample.code == "S26-001"
    assert sample.verifies.code == "CCP 1"
    assert [one.standing for one in awaited_of([make.lot])] == [Standing.AWAITED] * 3

    good = enter(dairy, sample, ["< 10", "120", "900", "40", "10"])
    assert (good.ruling, good.deviation) == ("close", None)  # two between m and M: acceptable
    assert not held(make.lot)
    assert enter(dairy, sample, ["44.5"], 2).facts == {"values_si": [44.5]}
    assert [one.test.parameter for one in awaited_of([make.lot])] == ["Listeria monocytogenes"]

    bad = enter(dairy, sample, ["not detected"] * 4 + ["detected"], 1, report_number="L-77")
    assert bad.ruling == "breached"
    assert bad.deviation is not None
    assert held(make.lot)
    assert "Found in 1 of 5 units of 25 g" in bad.deviation.summary
    assert [one.standing for one in awaited_of([make.lot])] == [Standing.FAILED]

    # Correcting it keeps both, and opens no second deviation while the first stands
    again = enter(dairy, sample, ["detected"] + ["not detected"] * 4, 1, replaces_id=bad.pk,
                  replace_reason="Units were listed in the wrong order.")  # fmt: skip
    assert again.ruling == "breached"
    assert again.deviation is None
    assert Deviation.objects.count() == 1
    (line,) = [one for one in lines_of(samples_of(dairy.owner.premises).get()) if one.test.kind == "absence"]
    assert line.result == again
    assert line.earlier == (bad,)
    assert verify_log(dairy.owner.premises.log).holds


def test_missing_units_leave_it_unproven_until_they_are_there(dairy: Dairy) -> None:
    make = dairy.start_make(at=NOW - 5 * DAY)
    sample = take(dairy, CPS, lot_id=make.lot_id)
    part = enter(dairy, sample, ["< 10", "20", "", "", ""])
    assert part.ruling == "unproven"
    assert not Deviation.objects.exists()
    assert [one.standing for one in awaited_of([make.lot])] == [Standing.UNPROVEN]
    full = enter(dairy, sample, ["< 10", "20", "10", "10", "10"], replaces_id=part.pk, replace_reason="All are there.")
    assert full.ruling == "met"
    assert awaited_of([make.lot]) == []


def test_what_was_found_in_a_room_implicates_what_was_in_it_since_it_was_last_clean(dairy: Dairy) -> None:
    before, since = dairy.start_make(at=NOW - 16 * DAY), dairy.start_make(at=NOW - 6 * DAY)
    dairy.event(before, "placed_in_room", at=NOW - 15 * DAY, place=dairy.room)
    dairy.event(before, "left_room", at=NOW - 12 * DAY)
    dairy.event(since, "placed_in_room", at=NOW - 5 * DAY, place=dairy.room)
    swab = Asked(kind="absence", parameter="Listeria", absent_in="swab")
    clean = take(dairy, swab, place_id=dairy.room.pk, spot="drain", taken_at=NOW - 8 * DAY)
    enter(dairy, clean, ["not detected"], reported_at=NOW - 4 * DAY)
    found = take(dairy, swab, place_id=dairy.room.pk, spot="drain")
    result = enter(dairy, found, ["detected"])
    assert result.deviation is not None
    assert [one.lot for one in result.deviation.implicated.all()] == [since.lot]


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"laboratory": " "}, "laboratory"),
        ({"taken_at": NOW + HOUR}, "taken_at"),
        ({"taken_at": NOW - 9 * DAY}, "taken_at"),
        ({"sent_at": NOW - 2 * DAY}, "sent_at"),
        ({"temperature": "250"}, "temperature"),
        ({"tests": []}, "tests"),
        ({"tests": [Asked(kind="count", parameter="E. coli", n=5, c=5, m=10)]}, "test-0"),
        ({"tests": [Asked(kind="count", parameter="E. coli", n=2, c=1, m=100, largest=10)]}, "test-0"),
        ({"tests": [Asked(kind="absence", parameter="Salmonella")]}, "test-0"),
        ({"tests": [Asked(kind="quantity", parameter="goodness")]}, "test-0"),
        ({"tests": [Asked(kind="count", parameter="E. coli", n=1, m=100, criterion_n=5)]}, "test-0"),
        ({"place_id": uuid4()}, "lot"),
        ({"verifies_id": uuid4()}, "verifies"),
    ],
)
def test_what_cannot_be_is_refused_with_its_field(dairy: Dairy, more: dict[str, object], field: str) -> None:
    make = dairy.start_make(at=NOW - 5 * DAY)
    arguments: dict[str, object] = {"lot_id": make.lot_id, "tests": [CPS]} | more
    with pytest.raises(ActionError) as refused:
        take(dairy, **arguments)
    assert field in refused.value.fields
    assert not Sample.objects.exists()


def test_a_result_that_cannot_be_is_refused_and_a_double_tap_is_one(dairy: Dairy) -> None:
    sample = take(dairy, CPS, lot_id=dairy.start_make(at=NOW - 5 * DAY).lot_id)
    for values, field in [(["", ""], "value-0"), (["10", "many"], "value-1"), (["-3"], "value-0")]:
        with pytest.raises(ActionError) as refused:
            enter(dairy, sample, values)
        assert field in refused.value.fields
    for at in (NOW + HOUR, NOW - 2 * DAY):
        with pytest.raises(ActionError, match="correct the time"):
            enter(dairy, sample, ["10"] * 5, reported_at=at)
    result_id = uuid4()
    first = enter(dairy, sample, ["10"] * 5, result_id=result_id)
    assert enter(dairy, sample, ["10"] * 5, result_id=result_id) == first
    with pytest.raises(Conflict):
        enter(dairy, sample, ["20"] * 5, result_id=result_id)
    with pytest.raises(Conflict, match="has a result already"):
        enter(dairy, sample, ["20"] * 5)
    with pytest.raises(ActionError, match="Say why"):
        enter(dairy, sample, ["20"] * 5, replaces_id=first.pk)


def test_the_law_s_criteria_follow_the_cheese(dairy: Dairy) -> None:
    """Regulation (EC) 2073/2005, annex I: rows 2.2.2 to 2.2.5 and chapter 1."""
    library_load(at=NOW)
    lot = dairy.start_make(at=NOW - 5 * DAY).lot

    def keys(treatment: str, family: str, jurisdiction: str = "EU") -> set[str]:
        lot.product.treatment, lot.product.family = treatment, family  # type: ignore[union-attr]
        dairy.owner.premises.jurisdiction = jurisdiction
        return {one.key for one in criteria_for(dairy.owner.premises, lot, NOW.date())}

    raw = keys("raw", "hard")
    assert {"micro.eu.2.2.3", "micro.eu.1.11"} <= raw
    assert not raw & {"micro.eu.2.2.2", "micro.eu.2.2.4", "micro.eu.2.2.5"}
    fresh = keys("pasteurised", "fresh lactic")
    assert {"micro.eu.2.2.2", "micro.eu.2.2.5"} <= fresh
    assert "micro.eu.2.2.3" not in fresh
    assert "micro.ca.ecoli.raw.old" not in keys("raw", "hard", "CA")  # repealed by SOR/2024-244, s. 57
    keys("raw", "hard", "US")
    (salmonella,) = [
        one for one in criteria_for(dairy.owner.premises, lot, NOW.date()) if one.key == "micro.us.salmonella"
    ]
    assert salmonella.words == "n = 1, not detected in 25 g"


def test_pages_and_api_from_the_sample_to_the_hold(dairy: Dairy) -> None:
    library_load(at=NOW)
    make = dairy.start_make(at=NOW - 5 * DAY)
    client = signed_in(dairy.maker)
    address = reverse("laboratory:new") + f"?lot={make.lot_id}"
    page = client.get(address).content.decode()
    assert "Coagulase-positive staphylococci" in page
    form = {
        "sample_id": str(uuid4()), "lot": str(make.lot_id), "laboratory": "County laboratory",
        "taken_at": "2026-03-19T12:00", "temperature_unit": "°C", "criterion-micro.eu.2.2.4": "on",
        "units-micro.eu.2.2.4": "1", "measured-moisture": "on",
        **{f"own-{i}-kind": "count" for i in range(2)}, **{f"own-{i}-unit": "cfu/g" for i in range(2)},
    }  # fmt: skip
    refused = client.post(address, form)
    assert refused.status_code == 422
    assert "say why 1 do here" in refused.content.decode()
    assert "County laboratory" in refused.content.decode()
    for _ in range(2):
        answer = client.post(address, form | {"fewer_because": "Two years of good results."})
        assert answer.status_code == 302
    sample = Sample.objects.get()
    page = client.get(reverse("laboratory:sample", args=[sample.pk])).content.decode()
    assert "n = 1, c = 0, m = 100, M = 1000 cfu/g" in page
    assert "Two years of good results." in page
    assert "every second time" in page  # the operating-characteristic curve in words

    test = sample.tests.get(position=0)
    result = {"result_id": str(uuid4()), "value-0": "many", "reported_at": "2026-03-20T11:00"}
    refused = client.post(reverse("laboratory:result", args=[test.pk]), result)
    assert refused.status_code == 422
    assert 'value="many"' in refused.content.decode()
    answer = client.post(reverse("laboratory:result", args=[test.pk]), result | {"value-0": "2300"}, follow=True)
    assert "is on hold" in answer.content.decode()
    assert held(make.lot)
    assert "2300" in client.get(reverse("laboratory:trend") + f"?parameter={test.parameter}").content.decode()
    batch = client.get(reverse("making:batch", args=[make.lot_id])).content.decode()
    assert sample.code in batch

    # The same by the API; the lot's other test is still awaited
    body = {"id": str(uuid4()), "values": ["44,5"], "reported_at": "2026-03-20T11:00:00Z"}
    second = sample.tests.get(position=1)
    answer = client.post(f"/api/v1/samples/tests/{second.pk}/results/", body, content_type="application/json")
    assert answer.status_code == 201, answer.content
    assert client.get("/api/v1/samples/?awaited=true").json()["results"] == []
    assert client.get(f"/api/v1/samples/{sample.pk}/").json()["tests"][0]["results"][0]["ruling"] == "breached"

    for other in (stranger(), reader(dairy)):
        assert other.post(address, form | {"sample_id": str(uuid4())}).status_code in (403, 404, 422)
    assert Sample.objects.count() == 1


def test_lists_cost_the_same_with_one_sample_and_with_many(dairy: Dairy) -> None:
    make, client = dairy.start_make(at=NOW - 5 * DAY), signed_in(dairy.helper)
    client.get(reverse("laboratory:list"))
    costs = []
    for count in (1, 3):
        for _ in range(count):
            sample = take(dairy, CPS, LISTERIA, lot_id=make.lot_id)
            enter(dairy, sample, ["10"] * 5)
        found = []
        for ask in (
            lambda: client.get(reverse("laboratory:list") + "?part=all"),
            lambda: client.get("/api/v1/samples/"),
            lambda: client.get(reverse("laboratory:trend")),
            lambda: awaited_of([make.lot]),
        ):
            with CaptureQueriesContext(connection) as asked:
                ask()
            found.append(len(asked))
        costs.append(found)
    assert costs[0] == costs[1]
    assert len(trend_of(dairy.owner.premises, CPS.parameter)) == 4


def test_ids_of_another_dairy_are_unknown(dairy: Dairy) -> None:
    other = open_dairy(name="Other Farm")
    sample = take(dairy, CPS, lot_id=dairy.start_make(at=NOW - 5 * DAY).lot_id)
    test_id: UUID = sample.tests.get().pk
    with pytest.raises(ActionError, match="no such test"):
        actions.result_enter(scope=other.maker, result_id=uuid4(), test_id=test_id, values=["1"] * 5, reported_at=NOW)
    with pytest.raises(ActionError, match="no such lot"):
        take(other, CPS, lot_id=sample.lot_id)

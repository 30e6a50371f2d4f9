"""Cleaning: methods, lots of chemicals, limits, and equipment that is not clean.

Sanitising conditions: FDA Food Code 2022, 4-501.114 (A): chlorine 25 to 100 mg/L by temperature and pH, at least 10 s
at 100 mg/L and 13 °C (from memory).
"""

from datetime import datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.template.loader import render_to_string
from django.urls import reverse

from batches.hygiene import actions as hygiene
from batches.hygiene.cleanliness import cleanliness, cleanliness_of
from batches.hygiene.models import Chemical, ChemicalLot, Method, UncleanUse
from batches.making import actions as making
from haccp.checks.daybook import day_book
from haccp.checks.forms.entries import limits_shown
from haccp.checks.queries import extra_to_do
from haccp.deviations.models import Deviation
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.plan.models import CriticalLimit
from haccp.premises.errors import ActionError, Conflict
from tests.dairy import OPENED_AT, Dairy, open_dairy
from tests.web.pages import signed_in

pytestmark = pytest.mark.django_db
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def give_method(
    dairy: Dairy, *, now: datetime = OPENED_AT, keeps_clean_s: int | None = None
) -> tuple[Method, Chemical]:
    chlorine = hygiene.chemical_add(
        scope=dairy.owner, chemical_id=uuid4(), name="Dairy chlorine", purpose="sanitiser", now=now
    )
    method = hygiene.method_set(
        scope=dairy.owner,
        method_id=uuid4(),
        place_id=dairy.vat.id,
        name="Daily wash",
        check_key=UUID(dairy.check("Vat 1 cleaned").key),
        steps=[hygiene.StepTyped("rinse", "Cold water"), hygiene.StepTyped("sanitise", "Chlorine, 10 s at least")],
        chemical_ids=[chlorine.id],
        keeps_clean_s=keeps_clean_s,
        now=now,
    )
    return method, chlorine


def open_can(dairy: Dairy, chemical: Chemical, code: str = "L-77", **more: object) -> ChemicalLot:
    return hygiene.chemical_lot_add(
        scope=dairy.maker, lot_id=uuid4(), chemical_id=chemical.id, code=code, now=OPENED_AT, **more
    )  # type: ignore[arg-type]


def clean(dairy: Dairy, method: Method, *lots: ChemicalLot, at: datetime, chlorine: str = "120") -> Any:
    return hygiene.cleaning_record(
        scope=dairy.maker,
        record_id=uuid4(),
        method_id=method.id,
        entries=dairy.entries("Vat 1 cleaned", (chlorine, "mg/L"), "yes"),
        observed_at=at,
        lot_ids=[lot.id for lot in lots],
        now=at,
    )


def start(dairy: Dairy, *, at: datetime, in_spite_of: str = "") -> Any:
    milk = dairy.receive_milk(at=at - HOUR)
    return making.make_start(
        scope=dairy.maker,
        lot_id=uuid4(),
        product_id=dairy.product.id,
        vat_id=dairy.vat.id,
        milk_l={milk.lot_id: 100.0},
        started_at=at,
        in_spite_of=in_spite_of,
        now=at,
    )


def test_a_vat_that_is_not_clean_is_used_only_with_a_deviation(dairy: Dairy) -> None:
    first = OPENED_AT + DAY
    start(dairy, at=first - HOUR)  # nothing is asked for before there is a method
    method, chlorine = give_method(dairy, now=first)
    can = open_can(dairy, chlorine)
    with pytest.raises(ActionError, match="not recorded as done") as refused:
        start(dairy, at=first + HOUR)
    assert set(refused.value.fields) == {"vat", "in_spite_of"}
    assert not Deviation.objects.exists()

    clean(dairy, method, can, at=first + 2 * HOUR, chlorine="60")  # below 100 mg/L: recorded, and not clean
    assert Deviation.objects.get().control_point.code == "PRP 2"
    assert not cleanliness(dairy.vat, first + 3 * HOUR).is_clean
    clean(dairy, method, can, at=first + 3 * HOUR)
    found = cleanliness(dairy.vat, first + 4 * HOUR)
    assert (found.is_clean, found.cleaned_at) == (True, first + 3 * HOUR)
    start(dairy, at=first + 4 * HOUR)
    with pytest.raises(ActionError, match=r"It was used .* has not been done since"):
        start(dairy, at=first + 9 * HOUR)

    make = start(dairy, at=first + 9 * HOUR, in_spite_of="The water was off; rinsed with hot whey water.")
    use = UncleanUse.objects.get()
    assert [one.lot_id for one in use.deviation.implicated.all()] == [make.lot_id]  # type: ignore[attr-defined]
    assert "The water was off" in use.deviation.summary
    book = day_book(dairy.owner.premises, dairy.owner.premises.local_date(first + 3 * HOUR))
    cleaned = next(section for section in book.sections if section.title == "Cleaning and swabs")
    assert [line["text"] for line in cleaned.lines] == ["Daily wash: Dairy chlorine, lot L-77"] * 2
    report = verify_log(Log.objects.get(pk=dairy.owner.log_id))
    assert report.holds, report.problem


def test_what_is_refused_and_what_is_one_and_the_same(dairy: Dairy) -> None:
    now = OPENED_AT + DAY
    method, chlorine = give_method(dairy, now=now, keeps_clean_s=12 * 3600)
    day = dairy.owner.premises.local_date(now)
    old = open_can(dairy, chlorine, "L-1", expires_on=day - DAY)
    with pytest.raises(ActionError, match="ran out on"):
        clean(dairy, method, old, at=now + HOUR)
    with pytest.raises(ActionError, match="from which lot"):
        clean(dairy, method, at=now + HOUR)
    with pytest.raises(Conflict, match="known already"):
        open_can(dairy, chlorine, "L-1")
    with pytest.raises(ActionError, match="Write the steps"):
        hygiene.method_set(
            scope=dairy.owner,
            method_id=uuid4(),
            place_id=dairy.vat.id,
            name="Empty",
            check_key=method.check_key,
            steps=[],
        )
    with pytest.raises(ActionError, match="Choose a check of Room 1"):
        hygiene.method_set(
            scope=dairy.owner,
            method_id=uuid4(),
            place_id=dairy.room.id,
            name="Wrong place",
            check_key=method.check_key,
            steps=[hygiene.StepTyped("rinse", "Water")],
        )
    can = open_can(dairy, chlorine, "L-2")
    clean(dairy, method, can, at=now + HOUR)
    assert cleanliness(dairy.vat, now + 12 * HOUR).is_clean
    assert "too long ago" in cleanliness(dairy.vat, now + 14 * HOUR).reason
    # Changed: the earlier version stays with what was cleaned by it, and is asked for no more.
    newer = hygiene.method_set(
        scope=dairy.owner,
        method_id=uuid4(),
        place_id=dairy.vat.id,
        name="Daily wash",
        check_key=method.check_key,
        steps=[hygiene.StepTyped("rinse", "Warm water")],
        replaces_id=method.id,
        now=now + 15 * HOUR,
    )
    (state,) = cleanliness_of(dairy.owner.premises, now + 16 * HOUR)
    assert [one.id for one in state.methods] == [newer.id]
    assert state.is_clean  # the same check of the plan, and no longer a limit of time
    with pytest.raises(Conflict, match="latest version"):
        hygiene.method_end(scope=dairy.owner, method_id=uuid4(), replaces_id=method.id)
    hygiene.method_end(scope=dairy.owner, method_id=uuid4(), replaces_id=newer.id, now=now + 17 * HOUR)
    assert cleanliness_of(dairy.owner.premises, now + 18 * HOUR) == []
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_who_writes_a_method_reads_the_published_conditions_with_their_sources(dairy: Dairy) -> None:
    """FDA Food Code 4-501.114 and 4-703.11 (read at second hand): 100 mg/L at 13 °C for 10 s; 40 CFR 180.940(a)."""
    page = signed_in(dairy.owner).get(reverse("hygiene:method_add", args=[dairy.vat.pk])).content.decode()
    assert "Your law names no numbers; these are of the United States" in page  # the dairy is in the EU
    conditions = page.split("Published conditions of sanitising")[1].split("</details>")[0]
    assert "Chlorine 100 mg/L at 13 °C for 10 s" in conditions
    assert "FDA Food Code, 4-501.114, 4-703.11 (at second hand)" in conditions
    assert "40 CFR 180.940, 180.940(a)" in conditions
    assert "(from memory)" in conditions  # peracetic acid, hot water


def test_a_check_names_what_its_limit_rests_on_where_it_is_done(dairy: Dairy) -> None:
    limit = CriticalLimit(
        statement="Chlorine at least 100 mg/L", source_document="FDA Food Code 2022", source_clause="4-501.114"
    )
    todo = extra_to_do(dairy.owner.premises, dairy.check("Vat 1 cleaned").pk, None)
    shown = limits_shown([limit], dairy.maker.user)
    about = render_to_string("partials/check_about.html", {"todo": todo, "limits": shown})
    assert "FDA Food Code 2022, 4-501.114" in about

"""Everything that a dairy seals is in its pack, each entry in one row, and a batch's paper tells its whole make."""

import io
import json
import re
from collections import Counter
from collections.abc import Iterator
from datetime import date
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db.models import QuerySet
from pypdf import PdfReader

from batches.hygiene.models import Swab, SwabPoint
from batches.intake.models import IngredientLot, MilkCount
from batches.laboratory.models import SampleTest
from batches.making.models import BrineChange
from batches.recall.models import RecallMark
from batches.ripening.models import Weighing
from batches.stock.labels.content import batch_labels
from batches.stock.models import CounterSale, Customer, Item, ItemEvent
from haccp.calibration.models import Calibration
from haccp.ledger import sealed_kinds
from haccp.ledger.models import Entry
from haccp.lots.models import Lot, LotLink
from haccp.premises.actions import place_add
from haccp.premises.models import User
from haccp.reports import actions
from haccp.reports.exports.table import Days
from haccp.reports.exports.tables import TABLES
from haccp.reports.gather.choice import Choice
from haccp.reports.gather.hygiene_entries import SWABS
from haccp.reports.gather.period import period_for
from haccp.reports.gather.reader_units import ReaderUnits
from haccp.reports.gather.scope import scope_of
from haccp.reports.layout.certificate import certificate_pdf
from haccp.reports.models import VisitPack
from tests.furnished import LATER, furnished_dairy
from tests.objects import Objects

FIRST = date(2025, 12, 1)
# How people came in, packs themselves, what lies ahead of the period, and what nothing in the furnished dairy names: a
# photograph without a record, a chemical that nobody cleaned with.
NOT_SHOWN = {
    "invitation.sent", "pack.made", "calendar.closed", "photo.stored", "hygiene.chemical", "hygiene.chemical_lot",
    "hygiene.swab_point",
}  # fmt: skip


@pytest.fixture(scope="module")
def there(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: Any) -> Iterator[Objects]:
    with furnished_dairy(django_db_blocker, tmp_path_factory.mktemp("files")) as objects:
        yield objects


@pytest.fixture
def made(there: Objects, db: None) -> VisitPack:
    last = there.dairy.owner.premises.local_date(LATER)
    pack = actions.pack_request(scope=there.dairy.owner, pack_id=uuid4(), period_from=FIRST, period_to=last, now=LATER)
    assert actions.pack_make(pack_id=pack.id, now=LATER)
    pack.refresh_from_db()
    return pack


def read(pack: VisitPack) -> PdfReader:
    with pack.file.open("rb") as content:
        return PdfReader(io.BytesIO(content.read()))


def test_whatever_was_sealed_is_in_the_pack_and_nothing_twice(there: Objects, made: VisitPack) -> None:
    pdf = read(made)
    (attached,) = pdf.attachments["records.json"]
    subjects = {entry["subject"] for entry in json.loads(attached)["entries"]}
    key = there.dairy.owner.premises.log.key
    of_rows = [kind for kind, sealed in sealed_kinds.registered().items() if sealed.all_subjects is not None]
    there_are = Entry.objects.filter(log__key=key, kind__in=of_rows).exclude(kind__in=NOT_SHOWN)
    sealed = there_are.values_list("kind", "subject")
    lacking = {(kind, subject) for kind, subject in sealed if subject not in subjects}
    assert lacking == set()
    assert len({kind for kind, _ in sealed}) > 25

    in_rows = Counter(re.findall(r"#(\d+)\b", "\n".join(page.extract_text() for page in pdf.pages)))
    assert set(in_rows.values()) == {1}


def test_a_reader_of_fahrenheit_and_pounds_sees_theirs_beside_what_was_typed(there: Objects, db: None) -> None:
    reader = there.dairy.owner.user
    reader.temperature_unit, reader.mass_unit = User.TemperatureUnit.FAHRENHEIT, User.MassUnit.POUND
    reader.save()
    last = there.dairy.owner.premises.local_date(LATER)
    pack = actions.pack_request(scope=there.dairy.owner, pack_id=uuid4(), period_from=FIRST, period_to=last, now=LATER)
    assert actions.pack_make(pack_id=pack.id, now=LATER)
    pack.refresh_from_db()
    text = " ".join(" ".join(page.extract_text().split()) for page in read(pack).pages)
    pairs = re.findall(r"(-?\d+(?:\.\d+)?)\s°C \((-?\d+(?:\.\d+)?)\s°F\)", text)
    assert pairs
    for celsius, fahrenheit in pairs:
        # The exact relation of the two scales (NIST SP 811, B.9), to the digit shown.
        assert float(fahrenheit) == pytest.approx(float(celsius) * 1.8 + 32, abs=0.051)
    assert re.search(r"\d\slb\b", text)


def words_of(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(content)).pages)


def test_a_calibration_is_a_paper_of_its_own(there: Objects, db: None) -> None:
    calibration = Calibration.objects.get(pk=there.ids["calibration"])
    address = "https://dairy.example/calibration/1/"
    text = words_of(certificate_pdf(calibration, ReaderUnits(), address=address, made_at=LATER))
    assert "Record of a calibration" in text
    assert calibration.instrument.name in text
    assert calibration.found_reason in text
    for point in calibration.points:
        assert f"{point['true']:.1f} °C".replace(" ", "") in text.replace("\xa0", "").replace(" ", "")
    assert "not a certificate of an accredited laboratory" in text


def test_a_recall_is_the_subject_of_a_pack(there: Objects, db: None) -> None:
    scope = there.dairy.owner
    choice = Choice(recall=UUID(there.ids["recall"]))
    last = scope.premises.local_date(LATER)
    pack = actions.pack_request(
        scope=scope, pack_id=uuid4(), period_from=last, period_to=last, choice=choice, now=LATER
    )
    assert actions.pack_make(pack_id=pack.id, now=LATER)
    pack.refresh_from_db()
    code = Lot.objects.get(pk=there.ids["batch"]).code
    text = " ".join(" ".join(page.extract_text().split()) for page in read(pack).pages)
    assert pack.choice_words.startswith("Exercise of ")
    assert pack.period_from < last
    assert "Yearly exercise." in text
    assert "exercise: lot chosen" in text
    assert pack.contents["batches"] == 1
    assert code in text


def test_a_batch_s_part_has_the_swabs_of_the_places_it_was_in_and_no_others(there: Objects, db: None) -> None:
    premises = there.dairy.owner.premises
    choice = Choice(batches=(UUID(there.ids["batch"]),))
    day = premises.local_date(LATER)
    asked = period_for(premises, FIRST, day, asked_by=there.dairy.owner.user, asked_at=LATER, site="")
    scope = scope_of(asked, choice)
    near = set(SWABS[0].rows(scope))
    assert {one.point.place for one in near} == {there.dairy.vat}
    never = place_add(scope=there.dairy.owner, name="Yard", kind="other", walking_order=9, at=LATER)
    point = SwabPoint.objects.create(place=never, name="Drain", zone=4, recorded_by=there.dairy.owner.user)
    Swab.objects.create(point=point, code="S-9", taken_at=LATER, recorded_by=there.dairy.owner.user)
    assert set(SWABS[0].rows(scope)) == near
    assert {one.code for one in SWABS[0].rows(scope_of(asked))} == {"S-1", "S-2", "S-9"}


def test_tables_to_take_away_hold_each_row_of_the_database_once(there: Objects, db: None) -> None:
    premises = there.dairy.owner.premises
    days = Days.of(premises, FIRST, premises.local_date(LATER))
    rows = {name: list(table.rows(premises, days)) for name, table in TABLES.items()}
    assert all(len(row) == len(TABLES[name].columns) for name, found in rows.items() for row in found)
    here = Item.objects.filter(lot__premises=premises).exclude(events__ends=True)
    assert {row[0] for row in rows["stock"]} == {str(one) for one in here} != set()
    expected: dict[str, QuerySet[Any]] = {
        "pieces": ItemEvent.objects.filter(item__lot__premises=premises),
        "dispatches": ItemEvent.objects.filter(dispatch__premises=premises),
        "customers": Customer.objects.filter(premises=premises),
        "counter": CounterSale.objects.filter(lot__premises=premises),
        "links": LotLink.objects.filter(child__premises=premises),
        "recalls": RecallMark.objects.filter(recall__premises=premises),
        "calibrations": Calibration.objects.filter(premises=premises),
        "samples": SampleTest.objects.filter(sample__premises=premises),
        "swabs": Swab.objects.filter(point__place__premises=premises),
        "counts": MilkCount.objects.filter(premises=premises),
        "ingredients": IngredientLot.objects.filter(lot__premises=premises),
        "brines": BrineChange.objects.filter(brine__lot__premises=premises),
        "weighings": Weighing.objects.filter(lot__premises=premises),
    }
    assert {name: len(rows[name]) for name in expected} == {name: found.count() for name, found in expected.items()}
    assert len([name for name in expected if rows[name]]) > 8


@pytest.mark.parametrize("kind", ["milk", "ingredient"])
def test_a_lot_that_came_in_has_a_label(there: Objects, db: None, kind: str) -> None:
    lot = Lot.objects.for_premises(there.dairy.owner.premises).filter(kind=kind).first()
    assert lot is not None
    (label,) = batch_labels(there.dairy.owner.premises, lot, [], "https://dairy.example")
    assert label.lines[0].startswith(f"Lot {lot.code} · came in ")
    assert str(lot.pk) in label.code

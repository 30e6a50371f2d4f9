"""A pack of a part shows what that part asks for, each record once, and nothing of the rest."""

import io
import random
from datetime import timedelta
from uuid import UUID, uuid4

import pytest
from pypdf import PdfReader

from haccp.checks.models import MissedCheck, Record
from haccp.deviations.models import Deviation
from haccp.lots.models import Lot, LotLink
from haccp.premises.errors import ActionError, Conflict
from haccp.reports import actions
from haccp.reports.gather.choice import Choice
from haccp.reports.gather.choice import _joined as joined
from haccp.reports.models import VisitPack
from tests.dairy import Dairy, open_dairy
from tests.reports import history, reading
from tests.reports.conftest import ASKED_AT, FROM, TO, MakePack
from tests.reports.test_every_record_once import live, numbers

SITE = "https://records.dairy.example"


def chains(wanted: set[UUID]) -> set[UUID]:
    """With every original and every amendment of them."""
    ties = [(pk, amends) for pk, amends in Record.objects.values_list("id", "amends") if amends]
    for _ in ties:
        wanted = wanted | {b for a, b in ties if a in wanted} | {a for a, b in ties if b in wanted}
    return wanted


def record_rows(dairy: Dairy, pack: VisitPack) -> set[int]:
    in_rows = reading.rows(pack)
    assert set(in_rows.values()) <= {1}
    all_records = numbers(dairy, {f"record:{one}" for one in Record.objects.values_list("id", flat=True)})
    return set(in_rows) & all_records


def of_batch(batch: Lot) -> set[UUID]:
    """By brute force: of the batch, of what went into it, and of the room and the vat while it was there."""
    family = {batch.id, *LotLink.objects.filter(child=batch).values_list("parent", flat=True)}
    wanted = {one.id for one in Record.objects.all() if one.lot_id in family}
    events = {event.kind: event for event in batch.events.all()}
    for arrived, leaves, lead in (("make_started", "placed_in_room", 24), ("placed_in_room", None, 0)):
        if arrived not in events:
            continue
        came = events[arrived].occurred_at - timedelta(hours=lead)
        went = events[leaves].occurred_at if leaves and leaves in events else None
        for one in Record.objects.filter(lot=None, place=events[arrived].place_id):
            if came <= one.observed_at and (went is None or one.observed_at < went):
                wanted.add(one.id)
    return chains(wanted)


@pytest.mark.parametrize("seed", range(2))
def test_a_part_holds_its_records_once_and_no_others(dairy: Dairy, make_pack: MakePack, seed: int) -> None:
    dice = random.Random(100 + seed)  # noqa: S311
    live(dairy, dice)
    history.make_day(dairy, history.FIRST_DAY + timedelta(days=7))

    batch = dice.choice(list(Lot.objects.batches()))
    pack = make_pack(dairy.owner, choice=Choice(batches=(batch.id,)))
    assert record_rows(dairy, pack) == numbers(dairy, {f"record:{one}" for one in of_batch(batch)})
    assert pack.choice_words == f"Batch {batch.code}"
    assert f"Batch {batch.code}" in reading.pages(pack)[0]
    others = Lot.objects.batches().exclude(pk=batch.pk)
    shown = reading.squeezed(pack)
    assert not [other.code for other in others if f"{other.code}·WeirTomme" in shown]

    pack = make_pack(dairy.owner, choice=Choice(point="CCP 3"))
    of_point = Record.objects.filter(check_done__control_point__code="CCP 3", observed_at__lt=ASKED_AT)
    assert record_rows(dairy, pack) == numbers(
        dairy, {f"record:{one}" for one in chains(set(of_point.values_list("id", flat=True)))}
    )
    missed = MissedCheck.objects.filter(due__check_due__control_point__code="CCP 3", due__due_at__lt=ASKED_AT)
    assert pack.contents["missed checks"] == missed.count()

    deviation = dice.choice(list(Deviation.objects.all()))
    pack = make_pack(dairy.owner, choice=Choice(deviation=deviation.id))
    assert pack.contents["deviations"] == 1
    held = record_rows(dairy, pack)
    if deviation.ruling is not None:
        assert numbers(dairy, {f"record:{deviation.ruling.record_id}"}) <= held
    assert numbers(dairy, {f"deviation:{deviation.id}"}).isdisjoint(held)
    assert deviation.reference in reading.text(pack)


def test_the_cheeses_chosen_bring_their_batches_milk_and_rooms(dairy: Dairy, make_pack: MakePack) -> None:
    make = history.make_day(dairy, history.FIRST_DAY)
    away = history.cleaning(dairy, history.FIRST_DAY + timedelta(days=1))
    pack = make_pack(dairy.owner, choice=Choice(products=(dairy.product.id,)), site=SITE)
    assert pack.contents["batches"] == 1
    assert pack.contents["milk and ingredient lots"] == 1
    rows = record_rows(dairy, pack)
    assert numbers(dairy, {f"record:{one.id}" for one in Record.objects.filter(lot=make.lot)}) <= rows
    # The vat was cleaned a day after the cheese had left it.
    assert numbers(dairy, {f"record:{away.id}"}).isdisjoint(rows)
    events = numbers(dairy, {f"lot_event:{event.id}" for event in make.lot.events.all()})
    assert events <= set(reading.rows(pack))
    _leads_back(pack, make.lot_id)


def _leads_back(pack: VisitPack, lot_id: UUID) -> None:
    """Entries and codes lead to their pages on the site, and only there."""
    with pack.file.open("rb") as content:
        pdf = PdfReader(io.BytesIO(content.read()))
    addresses = {
        str(annotation.get_object()["/A"]["/URI"])
        for page in pdf.pages
        for annotation in page.get("/Annots", ())
        if "/A" in annotation.get_object()
    }
    assert all(address.startswith(f"{SITE}/") for address in addresses)
    assert f"{SITE}/packs/{pack.id}/" in addresses
    assert f"{SITE}/batches/{lot_id}/" in addresses
    assert {f"{SITE}/records/{one.id}/" for one in Record.objects.filter(lot=lot_id)} <= addresses


def test_a_batch_alone_brings_its_own_days(dairy: Dairy) -> None:
    make = history.make_day(dairy, history.FIRST_DAY)
    wanted = {"period_from": FROM, "period_to": FROM, "choice": Choice(batches=(make.lot_id,)), "now": ASKED_AT}
    pack_id = uuid4()
    pack = actions.pack_request(scope=dairy.owner, pack_id=pack_id, **wanted)
    # From the day before, on which the vat may have been cleaned for it.
    assert (pack.period_from, pack.period_to) == (FROM, ASKED_AT.date())
    assert actions.pack_request(scope=dairy.owner, pack_id=pack_id, **wanted) == pack
    with pytest.raises(Conflict, match="another period or choice"):
        actions.pack_request(
            scope=dairy.owner,
            pack_id=pack_id,
            period_from=FROM,
            period_to=TO,
            choice=Choice(point="CCP 1"),
            now=ASKED_AT,
        )


def test_what_is_chosen_must_be_of_this_dairy(dairy: Dairy) -> None:
    make = history.make_day(dairy, history.FIRST_DAY)
    deviation = dairy.save("Vat 1 cleaned", "10", "yes", at=history.FIRST_DAY)
    assert deviation
    other = open_dairy(name="Glen Dairy")
    foreign = (
        Choice(batches=(make.lot_id,)),
        Choice(products=(dairy.product.id,)),
        Choice(deviation=Deviation.objects.all()[0].id),
        Choice(point="CCP 99"),
    )
    for choice in foreign:
        with pytest.raises(ActionError):
            actions.pack_request(
                scope=other.owner, pack_id=uuid4(), period_from=FROM, period_to=TO, choice=choice, now=ASKED_AT
            )
    assert not VisitPack.objects.exists()


def test_stays_that_overlap_are_one() -> None:
    at = [history.FIRST_DAY + timedelta(hours=n) for n in range(8)]
    assert joined([(at[0], at[2]), (at[1], at[3]), (at[4], at[5])]) == [(at[0], at[3]), (at[4], at[5])]
    assert joined([(at[0], at[2]), (at[2], None), (at[5], at[6])]) == [(at[0], None)]

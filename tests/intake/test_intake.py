"""What comes in: suppliers, what was found of milk, the decision about it, ingredients and their stock."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse

from batches.intake import actions as intake
from batches.intake.actions import FindingTyped
from batches.intake.cooling import cooling_of
from batches.intake.models import MilkFinding, MilkLot
from batches.intake.queries import findings_of
from batches.intake.rolling import rolling_means
from batches.intake.standing import standing_of
from batches.intake.stock import left_si, show_amount
from batches.making import actions as making
from haccp.deviations.models import Deviation
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.lots.actions import link_add
from haccp.premises.errors import ActionError
from tests.dairy import HOUR, Dairy, open_dairy
from tests.web.pages import signed_in

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 10, 7, 0, tzinfo=UTC)


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def found(kind: str, text: str, unit: str = "", *, at: datetime = NOW, note: str = "") -> FindingTyped:
    return FindingTyped(finding_id=uuid4(), kind=kind, text=text, unit=unit, observed_at=at, note=note)


def find(dairy: Dairy, milk: MilkLot, *findings: FindingTyped) -> list[MilkFinding]:
    return intake.findings_record(scope=dairy.maker, lot_id=milk.pk, findings=findings, now=NOW)


def test_acidity_in_any_degree_is_kept_as_typed_beside_its_lactic_acid(dairy: Dairy) -> None:
    milk = dairy.receive_milk(at=NOW - HOUR, accepted=False)
    # 8 °SH = 18 °D = 20 °Th = 0.180 % lactic acid: 1 °SH is 2.25 °D and 0.0225 % (°Th from memory)
    typed = (("8", "°SH"), ("18", "°D"), ("20", "°Th"), ("0,18", "%"))
    rows = find(dairy, milk, *(found("titratable_acidity", text, unit) for text, unit in typed))
    assert [(row.typed_text, row.typed_unit) for row in rows] == list(typed)
    assert [row.value_si for row in rows] == pytest.approx([0.18] * 4)


@pytest.mark.parametrize(
    ("finding", "field", "sentence"),
    [
        (found("ph", "46", "pH"), "ph", "Did you mean 4.6?"),
        (found("temperature", "39", "°C", at=NOW + HOUR), "temperature", "in the future"),
        (found("temperature", "6", "°C", at=NOW - 90 * HOUR), "temperature", "before the milking"),
        (found("titratable_acidity", "18", "%"), "titratable_acidity", "choose °D"),
        (found("senses", "odd"), "senses", "Choose one of"),
        (found("temperature", "43 °F", "°C"), "temperature", "Choose °F"),
    ],
)
def test_what_cannot_be_is_refused_with_the_remedy(
    dairy: Dairy, finding: FindingTyped, field: str, sentence: str
) -> None:
    milk = dairy.receive_milk(at=NOW - HOUR, accepted=False)
    with pytest.raises(ActionError) as refused:
        find(dairy, milk, found("ph", "6.62", "pH"), finding)
    assert sentence in refused.value.fields[field]
    assert not MilkFinding.objects.exists()


def test_milk_with_residues_cannot_be_accepted_and_a_make_of_it_opens_a_deviation(dairy: Dairy) -> None:
    milk = dairy.receive_milk(at=NOW - HOUR, accepted=False)
    find(dairy, milk, found("residues", "positive"))
    with pytest.raises(ActionError, match="residue test was positive"):
        dairy.decide(milk.pk, "accepted", at=NOW, reason="It is a lot of milk.")
    with pytest.raises(ActionError, match="Say why the lot is refused"):
        dairy.decide(milk.pk, "refused", at=NOW)
    dairy.decide(milk.pk, "refused", at=NOW, reason="Residues.")
    with pytest.raises(ActionError, match="it was refused: Residues") as refused:
        dairy.start_make(at=NOW, milk=milk)
    assert set(refused.value.fields) == {"exception"}

    arguments = {"scope": dairy.maker, "lot_id": uuid4(), "product_id": dairy.product.id, "vat_id": dairy.vat.id}
    for _ in range(2):  # a double tap is one make and one deviation
        make = making.make_start(
            **arguments, milk_l={milk.pk: 50.0}, started_at=NOW, exception="For calves, kept apart.", now=NOW
        )
    deviation = Deviation.objects.get()
    assert "For calves, kept apart." in deviation.summary
    assert {one.lot_id for one in deviation.implicated.all()} == {milk.pk, make.pk}

    # A second test clears the first, but the deviation stays until it is closed.
    find(dairy, milk, found("residues", "negative"))
    assert [deviation.reference in one for one in standing_of(milk.lot, NOW).problems] == [True]
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_milk_is_decided_on_its_page_and_refused_forms_keep_what_was_typed(dairy: Dairy) -> None:
    with time_machine.travel(NOW, tick=False):
        milk, client = dairy.receive_milk(at=NOW - HOUR, accepted=False), signed_in(dairy.helper)
        page = client.get(reverse("intake:detail", args=[milk.pk])).content.decode()
        assert "Not decided yet" in page
        assert "Milk acceptance is still to be done" in page
        decide = reverse("intake:decide", args=[milk.pk])
        answer = client.post(decide, {"acceptance_id": str(uuid4()), "decision": "accepted", "reason": ""})
        assert answer.status_code == 422
        assert "Do that first, or say why" in answer.content.decode()
        form = {"base_id": str(uuid4()), "observed_at": "2026-03-10T06:30", "ph": "46", "fat": "4,1", "note": "warm"}
        answer = client.post(reverse("intake:finding", args=[milk.pk]), form | {"ph_unit": "pH", "fat_unit": "%"})
        assert answer.status_code == 422
        assert all(part in answer.content.decode() for part in ("Did you mean 4.6?", 'value="46"', 'value="4,1"'))
        curve = {"base_id": str(uuid4()), "unit": "°C", "instrument": "", "at_1": "2026-03-10T05:00", "at_2": ""}
        curve |= {"temperature_1": "31,5", "temperature_2": "7"}
        answer = client.post(reverse("intake:cooling", args=[milk.pk]), curve)
        assert "Give the time of this temperature." in answer.content.decode()
        answer = client.post(reverse("intake:cooling", args=[milk.pk]), curve | {"at_2": "2026-03-10T06:40"})
        assert answer.status_code == 302
        assert "<svg" in client.get(reverse("intake:detail", args=[milk.pk])).content.decode()


def test_cooling_is_judged_by_the_ordinance_where_it_sets_a_time(dairy: Dairy) -> None:
    """Grade A PMO, table 1: 10 °C within 4 h of the start of milking, 7 °C within 2 h after its end."""
    premises = dairy.owner.premises
    premises.jurisdiction = "US"
    milk = intake.milk_receive(
        scope=dairy.maker, lot_id=uuid4(), species="cow", source="own herd", volume="100", volume_unit="L",
        received_at=NOW, milked_from=NOW - 5 * HOUR, milked_until=NOW - 4 * HOUR, now=NOW,
        findings=[
            found("temperature", "31", "°C", at=NOW - 5 * HOUR),
            found("temperature", "9", "°C", at=NOW - 2 * HOUR),
            found("temperature", "6", "°C", at=NOW - HOUR),
        ],
    )  # fmt: skip
    cooling = cooling_of(premises, milk, findings_of(milk), NOW)
    assert [verdict and verdict.ruling.value for _, verdict in cooling.judged] == ["met", "unproven"]
    with pytest.raises(ActionError, match="ended before it began"):
        intake.milk_receive(
            scope=dairy.maker, lot_id=uuid4(), species="cow", source="own herd", volume="100", volume_unit="L",
            received_at=NOW, milked_from=NOW - HOUR, milked_until=NOW - 2 * HOUR, now=NOW,
        )  # fmt: skip


def test_rolling_means_follow_the_regulation_for_each_species(dairy: Dairy) -> None:
    """Regulation (EC) 853/2004, Annex III, IX, I, III, 3: cows at most 100 000 over two months, two results in each."""
    farm = intake.supplier_add(scope=dairy.maker, supplier_id=uuid4(), name="Hill Farm", kind="milk", now=NOW)
    days = (date(2026, 1, 5), date(2026, 1, 20), date(2026, 2, 4), date(2026, 2, 18))

    def count(day: date, text: str, species: str = "cow", **more: object) -> object:
        return intake.count_record(
            scope=dairy.maker, count_id=uuid4(), supplier_id=farm.pk, species=species, quantity="count_cfu",
            sampled_on=day, text=text, now=NOW, **more,
        )  # fmt: skip

    rows = [count(day, text) for day, text in zip(days, ("50000", "80000", "200000", "< 100000"), strict=True)]
    [mean] = rolling_means(dairy.owner.premises, date(2026, 3, 10))
    assert mean.verdict is not None
    # (50 000 · 80 000 · 200 000 · 100 000)^(1/4) = 94 574
    assert mean.verdict.facts["mean"] == pytest.approx(94_574, rel=1e-4)
    assert mean.verdict.ruling == "met"
    # The mean of 94 574 becomes one of 112 468 once the laboratory corrects 100 000 to 200 000
    count(days[3], "200000", corrects_id=rows[3].pk, note="Diluted twice.")  # type: ignore[attr-defined]
    count(days[3], "300000", species="goat")
    cow, goat = rolling_means(dairy.owner.premises, date(2026, 3, 10))
    assert cow.verdict is not None
    assert goat.verdict is not None
    assert (cow.verdict.ruling, goat.verdict.ruling) == ("breached", "unproven")
    with pytest.raises(ActionError, match="lowest countable"):
        count(days[0], "0")
    with time_machine.travel(NOW, tick=False):
        page = signed_in(dairy.helper).get(reverse("intake:counts")).content.decode()
        assert "Hill Farm" in page
        assert "853/2004" in page
        assert page.count('class="pic') >= 1  # the cow's milk is drawn; of the goats' there is one result only
        client, address = signed_in(dairy.helper), reverse("intake:count_correct", args=[rows[0].pk])  # type: ignore[attr-defined]
        assert 'value="50000"' in client.get(address).content.decode()
        form = {
            "count_id": str(uuid4()), "supplier": str(farm.pk), "species": "cow", "quantity": "count_cfu",
            "sampled_on": "2026-01-05", "text": "5000", "unit": "cfu/mL", "note": "",
        }  # fmt: skip
        assert "Say what was wrong" in client.post(address, form).content.decode()
        assert client.post(address, form | {"note": "A nought too many."}).status_code == 302
        # (5 000 · 80 000 · 200 000 · 200 000)^(1/4) = 63 246
        cow, _goat = rolling_means(dairy.owner.premises, date(2026, 3, 10))
        assert cow.verdict is not None
        assert cow.verdict.facts["mean"] == pytest.approx(63_246, rel=1e-4)
        assert client.get(address).status_code == 404  # what was corrected is corrected by its correction


def test_an_ingredient_s_stock_falls_and_an_expired_lot_is_refused(dairy: Dairy) -> None:
    rennet = dairy.receive_ingredient(at=NOW - HOUR, expires_on=date(2026, 3, 12))
    make = dairy.start_make(at=NOW)
    for _ in range(2):  # one lot may go into a batch twice
        link_add(scope=dairy.maker, parent=rennet.lot, child=make.lot, amount=0.03, unit="L", at=NOW)
    assert left_si(rennet) == pytest.approx(0.44)
    change = {"scope": dairy.maker, "change_id": uuid4(), "lot_id": rennet.pk, "left_unit": "mL", "now": NOW}
    with pytest.raises(ActionError, match="Say why the stock differs"):
        intake.stock_change(**change, left="400", reason=" ")
    intake.stock_change(**change, left="400", reason="Spilled.")
    assert show_amount("volume", left_si(rennet)) == "400 mL"
    assert standing_of(rennet.lot, NOW).is_usable
    late = standing_of(rennet.lot, NOW + timedelta(days=3))
    assert not late.is_usable
    assert "it expired on 12 Mar 2026" in late.problems
    with time_machine.travel(NOW + timedelta(days=3), tick=False):
        client = signed_in(dairy.helper)
        assert "expired" in client.get(reverse("intake:ingredients")).content.decode()
        assert make.lot.code in client.get(reverse("intake:ingredient", args=[rennet.pk])).content.decode()
        form = {
            "lot_id": str(uuid4()), "kind": "salt", "name": "Salt", "amount": "25", "amount_unit": "kg", "accept": "on",
            "received_at": "2026-03-10T07:00", "expires_on": "2025-01-01", "supplier_lot": "S 1",
        }  # fmt: skip
        answer = client.post(reverse("intake:ingredient_new"), form)
        assert "cannot be accepted: it expired" in answer.content.decode()
        assert client.post(reverse("intake:ingredient_new"), form | {"expires_on": ""}).status_code == 302

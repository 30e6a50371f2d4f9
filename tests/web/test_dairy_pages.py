"""The pages of places and instruments."""

from uuid import uuid4

from django.urls import reverse

from haccp.premises import actions as premises
from haccp.premises.models import Instrument, Place
from tests.dairy import Dairy
from tests.web.conftest import hidden, page_of
from tests.web.pages import signed_in


def test_a_place_is_added_once_changed_moved_retired_and_brought_back(dairy: Dairy) -> None:
    owner = signed_in(dairy.owner)
    add = reverse("premises:place_add")
    page = page_of(owner.get(add))
    sent = {"place_id": hidden(page, "place_id"), "name": "Cave", "kind": "ripening_room", "next": "/plan/"}
    for _tap in range(2):
        assert owner.post(add, sent)["Location"] == "/plan/"
    cave = Place.objects.get(name="Cave")
    # A duplicate is refused beside the name, with what was typed; a page of elsewhere is not gone to.
    refused = owner.post(
        add, {"place_id": uuid4(), "name": "cave", "kind": "vat", "next": "https://elsewhere.example/"}
    )
    assert refused.status_code == 409
    assert "There is already another place named Cave" in page_of(refused)
    assert 'value="cave"' in page_of(refused)
    assert "elsewhere.example" not in page_of(refused)
    change = reverse("premises:place_change", args=[cave.pk])
    seen = hidden(page_of(owner.get(change)), "seen_sha256")
    assert owner.post(change, {"name": "Cave 1", "kind": "ripening_room", "seen_sha256": seen}).status_code == 302
    assert owner.post(change, {"name": "Cave 2", "kind": "ripening_room", "seen_sha256": seen}).status_code == 409
    owner.post(reverse("premises:place_move", args=[cave.pk]), {"position": "1"})
    owner.post(reverse("premises:place_move", args=[cave.pk]), {"position": "first"})
    page = page_of(owner.get(reverse("premises:dairy")))
    assert page.index("Cave 1") < page.index("Vat 1")
    assert "Give a position in the walk" in page
    owner.post(reverse("premises:place_retire", args=[cave.pk]))
    page = page_of(owner.get(reverse("premises:dairy")))
    assert "Retired places (1)" in page
    owner.post(reverse("premises:place_restore", args=[cave.pk]))
    assert "Retired places" not in page_of(owner.get(reverse("premises:dairy")))
    # What the plan needs is not retired, and the page says what needs it.
    answer = owner.post(reverse("premises:place_retire", args=[dairy.room.pk]), follow=True)
    assert "Room 1 is still needed by the check “Room 1 temperature”" in page_of(answer)


def test_an_instrument_is_added_once_and_changed_in_the_unit_of_its_certificate(dairy: Dairy) -> None:
    owner = signed_in(dairy.owner)
    add = reverse("premises:instrument_add")
    page = page_of(owner.get(f"{add}?kind=ph_meter"))
    assert '<option value="ph_meter" selected>' in page
    assert '<option value="pH" selected>' in page
    sent = {
        "instrument_id": hidden(page, "instrument_id"), "name": "Dial", "kind": "thermometer", "serial": "D 7",
        "place": str(dairy.vat.pk), "uncertainty": "± 0,9", "unit": "°F", "calibrated_on": "2026-01-02",
        "calibration_valid_until": "2027-01-02",
    }  # fmt: skip
    for _tap in range(2):
        assert owner.post(add, sent).status_code == 302
    dial = Instrument.objects.get(name="Dial")
    assert round(dial.expanded_uncertainty, 6) == 0.5
    assert "± 0.9 °F" in page_of(owner.get(reverse("premises:dairy")))
    change = reverse("premises:instrument_change", args=[dial.pk])
    page = page_of(owner.get(change))
    assert 'name="uncertainty" value="0.9"' in page
    sent |= {"seen_sha256": hidden(page, "seen_sha256")}
    wrong = {
        "uncertainty": ("about half", "Type a number"),
        "unit": ("pH", "A thermometer is not uncertain by pH"),
        "calibration_valid_until": ("2025-01-02", "exchange the days"),
        "name": ("PROBE thermometer", "already another instrument named"),
    }
    premises.instrument_add(scope=dairy.owner, name="Probe thermometer", kind="thermometer", expanded_uncertainty=0.1)
    for field, (typed, sentence) in wrong.items():
        answer = owner.post(change, sent | {field: typed})
        assert answer.status_code in (409, 422), field
        assert sentence in page_of(answer)
        assert typed in page_of(answer)
    assert owner.post(change, sent | {"uncertainty": "0.2", "unit": "°C"}).status_code == 302
    owner.post(reverse("premises:instrument_retire", args=[dial.pk]))
    assert "Retired instruments (1)" in page_of(owner.get(reverse("premises:dairy")))
    owner.post(reverse("premises:instrument_restore", args=[dial.pk]))
    dial.refresh_from_db()
    assert (dial.retired_at, dial.expanded_uncertainty) == (None, 0.2)


def test_the_list_takes_as_many_queries_for_many_as_for_few(dairy: Dairy, django_assert_max_num_queries) -> None:  # type: ignore[no-untyped-def]
    maker = signed_in(dairy.maker)
    with django_assert_max_num_queries(50) as few:
        page = page_of(maker.get(reverse("premises:dairy")))
    assert "Add a place" not in page  # a maker reads the list
    for number in range(8):
        place = premises.place_add(scope=dairy.owner, name=f"Place {number}", kind="vat")
        premises.instrument_add(
            scope=dairy.owner, name=f"Probe {number}", kind="thermometer", expanded_uncertainty=0.1, place=place
        )
    with django_assert_max_num_queries(len(few)):
        maker.get(reverse("premises:dairy"))


def test_what_papers_say_of_the_dairy_is_changed_on_its_page(dairy: Dairy) -> None:
    owner = signed_in(dairy.owner)
    details = reverse("premises:details")
    assert owner.post(details, {"name": "", "address": "The Weir"}).status_code == 422
    sent = {"name": "Weir Farm", "address": "The Weir", "approval_number": "IE 1 EC"}
    assert "IE 1 EC" in page_of(owner.post(details, sent, follow=True))

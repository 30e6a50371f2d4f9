"""A recorder's file from the upload to the record."""

from collections.abc import Callable
from datetime import timedelta

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from pytest_django import Settings

from batches.making.models import Make
from haccp.checks import actions as checks
from haccp.checks.models import DueCheck, Record, TraceFile
from haccp.premises.scope import Scope
from tests.dairy import Dairy
from tests.web.conftest import NOW, hidden, page_of

START = NOW - timedelta(minutes=80)


def recording(*, held_min: int, at_c: float = 63.6, head: str = "Time;Milk (°C);Air (°C)") -> bytes:
    """A minute apart: ten minutes of rise, the hold, ten of fall. Wall clock of Dublin, which keeps UTC in March."""
    milk = [20 + 4.3 * n for n in range(10)] + [at_c] * (held_min + 1) + [60 - 3.0 * n for n in range(10)]
    times = [f"{START + timedelta(minutes=n):%Y-%m-%d %H:%M:%S}" for n in range(len(milk))]
    # A tenth of a degree of unrest, as a probe in stirred milk shows; a flat line would be taken for a stuck one.
    rows = [
        f"{at};{c + 0.1 * (n % 2):.1f};{c + 2 + 0.1 * (n % 3):.1f}"
        for n, (at, c) in enumerate(zip(times, milk, strict=True))
    ]
    return "\n".join([head, *rows, ""]).encode()


@pytest.fixture
def make(dairy: Dairy) -> Make:
    return dairy.start_make(at=NOW - timedelta(minutes=85))


@pytest.fixture
def due(make: Make) -> DueCheck:
    return DueCheck.objects.get(lot=make.lot_id, check_due__name="Heat treatment")


def send(client: Client, due: DueCheck, data: bytes, name: str = "vat.csv") -> str:
    """Uploads and gives the address of the page that asks to confirm."""
    url = f"/checks/{due.id}/recorder/"
    trace_id = hidden(page_of(client.get(url)), "trace_id")
    answer = client.post(url, {"trace_id": trace_id, "file": SimpleUploadedFile(name, data)})
    assert answer.status_code == 302, page_of(answer)
    return answer.headers["Location"]


def confirm(dairy: Dairy, page: str, **more: str) -> dict[str, str]:
    return {
        "record_id": hidden(page, "record_id"),
        "role-0": "air_space",  # Air, Milk: in the order of their names
        "role-1": "product",
        "instrument": str(dairy.recorder.id),
        "observed_at": "2026-03-04T08:00",
        **more,
    }


def test_the_due_check_leads_to_the_upload(maker: Client, due: DueCheck) -> None:
    page = page_of(maker.get(f"/checks/{due.id}/"))

    assert f'href="/checks/{due.id}/recorder/"' in page
    assert "At least 63 °C for 30 min" in page


@pytest.mark.parametrize("held_min", [29, 31])
def test_the_outlook_is_the_ruling_that_is_then_saved(
    dairy: Dairy, maker: Client, due: DueCheck, held_min: int
) -> None:
    # 63 °C for 30 min: Regulation (EC) 853/2004, Annex III, section IX, chapter II, with Annex to 1662/2006.
    url = send(maker, due, recording(held_min=held_min))
    page = page_of(maker.get(url))
    assert page.count("<svg") == 2  # one for a desk, one for a phone
    assert not Record.objects.exists()

    answer = maker.post(url, confirm(dairy, page), follow=True)

    ruling = Record.objects.get().rulings.get()
    assert ruling.ruling == ("met" if held_min > 30 else "breached")
    assert ruling.reason in page.replace("&#x27;", "'")
    assert ruling.reason in page_of(answer).replace("&#x27;", "'")
    assert "<svg" in page_of(answer)


def test_looking_again_judges_by_other_channels_and_saves_nothing(dairy: Dairy, maker: Client, due: DueCheck) -> None:
    # The milk stays below 63 °C, the air above it does not.
    url = send(maker, due, recording(held_min=40, at_c=61.5))
    page = page_of(maker.get(url))
    assert "Never held at or above 63.0 °C" in page

    swapped = confirm(dairy, page, **{"role-0": "product", "role-1": "air_space", "look_again": "1"})
    again = maker.post(url, swapped)

    assert again.status_code == 200
    assert "Never held at or above" not in page_of(again)
    assert hidden(page_of(again), "record_id") == swapped["record_id"]
    assert not Record.objects.exists()


def test_a_recording_without_a_milk_channel_is_unproven_not_a_failure_of_the_page(
    dairy: Dairy, maker: Client, due: DueCheck
) -> None:
    url = send(maker, due, recording(held_min=40))
    page = page_of(maker.get(url))

    again = maker.post(url, confirm(dairy, page, **{"role-0": "other", "role-1": "other", "look_again": "1"}))

    assert "<strong>unproven</strong>" in page_of(again)
    assert "<svg" not in page_of(again)


def test_a_file_that_cannot_be_read_is_refused_with_its_line(maker: Client, due: DueCheck) -> None:
    url = f"/checks/{due.id}/recorder/"
    trace_id = hidden(page_of(maker.get(url)), "trace_id")

    data = recording(held_min=31).replace(b"2026-03-04 07:10:00", b"yesterday")
    answer = maker.post(url, {"trace_id": trace_id, "file": SimpleUploadedFile("vat.csv", data)})

    assert answer.status_code == 422
    assert "Line 12:" in page_of(answer)
    assert hidden(page_of(answer), "trace_id") == trace_id
    assert not TraceFile.objects.exists()


def test_a_file_of_another_day_is_refused(maker: Client, due: DueCheck) -> None:
    url = f"/checks/{due.id}/recorder/"
    data = recording(held_min=31).replace(b"2026-03-04", b"2026-03-01")

    answer = maker.post(
        url,
        {"trace_id": hidden(page_of(maker.get(url)), "trace_id"), "file": SimpleUploadedFile("vat.csv", data)},
    )

    assert answer.status_code == 422
    assert "Choose the file of this make." in page_of(answer)


@pytest.mark.parametrize(
    ("files", "sentence"),
    [
        ({}, "Choose the file that you exported from the recorder."),
        ({"file": SimpleUploadedFile("vat.csv", b"")}, "This file is empty."),
    ],
)
def test_no_file_or_an_empty_one_is_said_so(
    maker: Client, due: DueCheck, files: dict[str, SimpleUploadedFile], sentence: str
) -> None:
    url = f"/checks/{due.id}/recorder/"

    answer = maker.post(url, {"trace_id": hidden(page_of(maker.get(url)), "trace_id"), **files})

    assert answer.status_code == 422
    assert sentence in page_of(answer)


def test_a_file_that_is_too_large_is_refused_with_the_limit(maker: Client, due: DueCheck, settings: Settings) -> None:
    settings.RECORDER_FILE_MAX_BYTES = 1024 * 1024
    url = f"/checks/{due.id}/recorder/"

    answer = maker.post(
        url,
        {
            "trace_id": hidden(page_of(maker.get(url)), "trace_id"),
            "file": SimpleUploadedFile("month.csv", b"x" * (1024 * 1024 + 1)),
        },
    )

    assert answer.status_code == 422
    assert "month.csv is larger than 1 MB" in page_of(answer)
    assert not TraceFile.objects.exists()


def test_the_same_file_for_two_makes_is_pointed_out(dairy: Dairy, maker: Client, due: DueCheck, make: Make) -> None:
    data = recording(held_min=31)
    url = send(maker, due, data)
    maker.post(url, confirm(dairy, page_of(maker.get(url))))
    second = dairy.start_make(at=NOW - timedelta(minutes=60))
    due_of_second = DueCheck.objects.get(lot=second.lot_id, check_due__name="Heat treatment")

    page = page_of(maker.get(send(maker, due_of_second, data)))

    assert "This very file was used before" in page
    assert make.lot.code in page.split("This very file was used before")[1].split("</p>")[0]


def test_a_file_brought_in_for_one_make_does_not_prove_another(dairy: Dairy, maker: Client, due: DueCheck) -> None:
    url = send(maker, due, recording(held_min=31))
    second = dairy.start_make(at=NOW - timedelta(minutes=60))
    due_of_second = DueCheck.objects.get(lot=second.lot_id, check_due__name="Heat treatment")
    crossed = url.split("?")[0] + f"?due={due_of_second.id}"

    answer = maker.post(crossed, confirm(dairy, page_of(maker.get(crossed))))

    assert answer.status_code == 422
    assert f"bring it in for {second.lot.code}" in page_of(answer)
    assert not Record.objects.exists()


def test_a_stranger_finds_no_trace_of_ours(
    dairy: Dairy, maker: Client, due: DueCheck, stranger: Scope, signed_in: Callable[[Scope], Client]
) -> None:
    url = send(maker, due, recording(held_min=31))

    assert signed_in(stranger).get(url).status_code == 404
    assert signed_in(stranger).get(f"/checks/{due.id}/recorder/").status_code == 404
    assert maker.get(url.split("?")[0]).status_code == 404


def test_a_late_entry_takes_its_time_from_the_file(maker: Client, due: DueCheck, clock: time_machine.Traveller) -> None:
    clock.move_to(due.grace_ends_at + timedelta(hours=1))
    checks.sweep(now=due.grace_ends_at + timedelta(hours=1))

    page = page_of(maker.get(send(maker, due, recording(held_min=31))))

    ended = START + timedelta(minutes=51)
    assert f'name="observed_at" value="{ended:%Y-%m-%dT%H:%M}"' in page

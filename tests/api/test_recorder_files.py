"""Recorder files over the API: the good are kept byte for byte, the bad leave nothing behind but a sentence."""

import hashlib
import zlib
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from haccp.checks.models import TraceFile
from haccp.ledger.models import Entry
from haccp.premises.models import AnsweredRequest
from tests.api.device import Device, record_body, refusal
from tests.dairy import Dairy, open_dairy

FILES = Path(__file__).parents[2] / "fixtures" / "recorders"
LATER = datetime(2026, 11, 2, 9, 0, tzinfo=UTC)  # after the last of the recordings
MAKE_DAY = datetime(2026, 3, 14, 7, 0, tzinfo=UTC)


@pytest.fixture
def clock() -> Iterator[time_machine.Traveller]:
    with time_machine.travel(LATER, tick=False) as traveller:
        yield traveller


@pytest.fixture
def dairy(db: None, clock: time_machine.Traveller) -> Dairy:
    """The files were recorded in a dairy that keeps Central European time."""
    return open_dairy(time_zone="Europe/Paris")


def _content(name: str) -> bytes:
    return (FILES / name).read_bytes()


GOOD = {
    # Started at 09:30 in Paris (UTC+1), 45 minutes of one sample a second.
    "vat_45min.csv": ("2026-03-14T08:30:00Z", 2700),
    "vat_45min_decimal_comma.csv": ("2026-03-14T08:30:00Z", 2700),
    "vat_short_hold.csv": ("2026-03-15T08:30:00Z", 2700),
    # 02:40 before the clock goes back is summer time (UTC+2); 01:40 before it goes forward is winter time.
    "vat_autumn_hour.csv": ("2026-10-25T00:40:00Z", 2700),
    "vat_spring_hour.csv": ("2026-03-29T00:40:00Z", 2700),
    "thermise_continuous.csv": ("2026-03-16T06:05:00Z", 1200),
}


@pytest.mark.parametrize("name", GOOD)
def test_a_good_file_is_kept_as_it_came(maker: Device, name: str) -> None:
    content = _content(name)
    answer = maker.upload(content, name=name)

    assert answer.status_code == 201, answer.content
    told = answer.json()
    assert (told["started_at"], told["sample_count"]) == GOOD[name]
    assert told["duration_s"] == GOOD[name][1] - 1
    assert told["sha256"] == hashlib.sha256(content).hexdigest()
    assert "product" in told["roles"].values()
    stored = TraceFile.objects.get(pk=told["id"])
    assert zlib.decompress(bytes(stored.raw_deflated)) == content
    assert maker.get(f"recorder-files/{told['id']}/").json() == told


CUT_OFF = "bad_truncated.csv"
BAD = {
    "bad_empty.csv": "empty",
    "bad_truncated_header.csv": "line",
    "bad_shuffled.csv": "Line 102",
    "bad_binary.csv": "binary",
    "bad_duplicates.csv": "Line 202",
    "bad_sentinel_9999.csv": "Line 150",
    "bad_fahrenheit_labelled_celsius.csv": "°F",
}


def test_every_sample_of_a_bad_file_is_tried() -> None:
    assert {path.name for path in FILES.glob("*.csv")} == {*GOOD, *BAD, CUT_OFF}


def test_a_file_that_was_cut_off_is_kept_up_to_its_last_whole_line(maker: Device) -> None:
    told = maker.upload(_content(CUT_OFF), name=CUT_OFF).json()

    assert told["sample_count"] == 299
    assert told["notes"][0].startswith("Line 306 is cut off at the end of the file and was left out")


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_leaves_a_sentence_and_nothing_else(maker: Device, name: str) -> None:
    sealed = Entry.objects.count()
    error = refusal(maker.upload(_content(name), name=name, key="file"), 400, "refused")

    assert BAD[name] in error["message"]
    assert error["fields"]["file"] == [error["message"]]
    # What is wrong, and what to do about it.
    assert error["message"].count(".") >= 2
    assert not TraceFile.objects.exists()
    assert not AnsweredRequest.objects.exists()
    assert Entry.objects.count() == sealed


def test_a_heat_treatment_is_recorded_from_its_file(dairy: Dairy, maker: Device) -> None:
    make = dairy.start_make(at=MAKE_DAY)
    trace = maker.upload(_content("vat_45min.csv"), name="run.csv", lot=str(make.lot_id)).json()
    record = maker.post("records/", _heat(dairy, make.lot_id, trace["id"])).json()

    assert record["trace"] == trace["id"]
    assert record["trace_roles"] == trace["roles"]
    # 63 °C for 30 min: Regulation (EC) 853/2004, Annex III section IX chapter II.
    assert [(one["ruling"], one["limit_statement"]) for one in record["rulings"]] == [
        ("met", "At least 63 °C for 30 min")
    ]


def test_a_hold_that_was_too_short_is_breached(dairy: Dairy, maker: Device) -> None:
    make = dairy.start_make(at=MAKE_DAY + timedelta(days=1))
    trace = maker.upload(_content("vat_short_hold.csv"), name="run.csv", lot=str(make.lot_id)).json()
    record = maker.post("records/", _heat(dairy, make.lot_id, trace["id"], day=15)).json()

    assert [one["ruling"] for one in record["rulings"]] == ["breached"]
    assert maker.get(f"makes/{make.lot_id}/").json()["is_held"] is True


def test_a_record_without_its_file_is_refused(dairy: Dairy, maker: Device) -> None:
    make = dairy.start_make(at=MAKE_DAY)
    error = refusal(maker.post("records/", _heat(dairy, make.lot_id, None)), 400, "refused")

    assert "Add the recorder's file." in error["message"]


def test_roles_are_those_of_channels_in_the_file(dairy: Dairy, maker: Device) -> None:
    make = dairy.start_make(at=MAKE_DAY)
    trace = maker.upload(_content("vat_45min.csv"), name="run.csv").json()
    body = _heat(dairy, make.lot_id, trace["id"])

    refusal(maker.post("records/", body | {"trace_roles": {"Brine": "product"}}), 400, "refused")
    refusal(maker.post("records/", body | {"trace_roles": dict.fromkeys(trace["roles"], "milk")}), 400, "bad_input")
    assert maker.post("records/", body | {"trace_roles": trace["roles"]}).status_code == 201


def test_the_same_upload_sent_twice_is_one_file(maker: Device) -> None:
    trace_id = uuid4()
    answers = [maker.upload(_content("vat_45min.csv"), name="run.csv", trace_id=trace_id) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()
    assert TraceFile.objects.count() == 1


def test_the_same_id_with_another_file_or_lot_is_a_conflict(dairy: Dairy, maker: Device) -> None:
    make = dairy.start_make(at=MAKE_DAY)
    trace_id = uuid4()
    maker.upload(_content("vat_45min.csv"), name="run.csv", trace_id=trace_id)

    refusal(maker.upload(_content("vat_short_hold.csv"), name="run.csv", trace_id=trace_id), 409, "conflict")
    refusal(
        maker.upload(_content("vat_45min.csv"), name="run.csv", trace_id=trace_id, lot=str(make.lot_id)),
        409,
        "conflict",
    )


def test_the_file_of_another_day_is_refused(dairy: Dairy, maker: Device) -> None:
    make = dairy.start_make(at=MAKE_DAY + timedelta(days=5))
    error = refusal(maker.upload(_content("vat_45min.csv"), name="run.csv", lot=str(make.lot_id)), 400, "refused")

    assert "Choose the file of this make" in error["message"]


def test_a_file_of_the_future_is_refused(maker: Device, clock: time_machine.Traveller) -> None:
    clock.move_to(datetime(2026, 3, 14, 8, 0, tzinfo=UTC))

    refusal(maker.upload(_content("vat_45min.csv"), name="run.csv"), 400, "refused")
    assert not TraceFile.objects.exists()


def test_an_upload_without_a_file_says_so(maker: Device) -> None:
    answer = maker.client.post("/api/v1/recorder-files/", {"id": str(uuid4())}, format="multipart")

    assert refusal(answer, 400, "refused")["fields"]["file"] == ["Choose the file that the recorder exported."]


def test_an_upload_that_is_no_form_is_refused(maker: Device) -> None:
    refusal(maker.post("recorder-files/", {"id": str(uuid4())}), 415, "unsupported_media_type")


def test_an_oversized_file_is_dropped_while_it_arrives(
    maker: Device, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.RECORDER_FILE_MAX_BYTES = 200 * 1024
    kept = _bytes_kept(monkeypatch)
    error = refusal(maker.upload(b"x" * 2_000_000, name="week.csv", key="big"), 413, "too_large")

    assert error["fields"]["file"] == [error["message"]]
    assert "week.csv is larger than 200 kB" in error["message"]
    assert "one make to a file" in error["message"]
    # No more than the limit ever reached memory or a temporary file.
    assert sum(kept) <= 200 * 1024
    assert not TraceFile.objects.exists()

    # The same key serves for the shorter file.
    assert maker.upload(_content("vat_45min.csv"), name="week.csv", key="big").status_code == 201


def test_a_file_right_at_the_limit_is_taken(maker: Device, settings: Any) -> None:
    content = _content("vat_45min.csv")
    settings.RECORDER_FILE_MAX_BYTES = len(content)
    assert maker.upload(content, name="run.csv").status_code == 201

    settings.RECORDER_FILE_MAX_BYTES = len(content) - 1
    refusal(maker.upload(content, name="run.csv"), 413, "too_large")


def test_a_role_that_only_reads_uploads_nothing(consultant: Device) -> None:
    refusal(consultant.upload(_content("vat_45min.csv"), name="run.csv"), 403, "not_allowed")


def test_another_dairys_file_is_not_there(maker: Device, stranger: Device) -> None:
    trace = maker.upload(_content("vat_45min.csv"), name="run.csv").json()

    refusal(stranger.get(f"recorder-files/{trace['id']}/"), 404, "not_found")


def _heat(dairy: Dairy, lot_id: Any, trace_id: str | None, *, day: int = 14) -> dict[str, Any]:
    return record_body(
        dairy,
        "Heat treatment",
        at=datetime(2026, 3, day, 9, 15, tzinfo=UTC),
        lot=str(lot_id),
        trace=trace_id,
        instrument=str(dairy.recorder.id),
    )


def _bytes_kept(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Sizes of the chunks that pass the first handler and are kept by those after it."""
    from haccp.premises.uploads import RefuseOversized

    kept: list[int] = []
    receive = RefuseOversized.receive_data_chunk

    def noting(handler: RefuseOversized, raw_data: bytes, start: int) -> bytes:
        passed = receive(handler, raw_data, start)
        kept.append(len(passed))
        return passed

    monkeypatch.setattr(RefuseOversized, "receive_data_chunk", noting)
    return kept

"""Single papers: made at once, of this dairy alone, and blank forms that lead back into the records."""

import io
import re
from datetime import timedelta

import pytest
import time_machine
from django.http import HttpResponseBase
from django.test import Client
from pypdf import PdfReader

from haccp.checks.models import Record
from haccp.deviations.models import Deviation
from haccp.ledger.models import Entry
from tests.dairy import Dairy, open_dairy
from tests.reports import history
from tests.reports.conftest import ASKED_AT


@pytest.fixture(autouse=True)
def clock() -> object:
    with time_machine.travel(ASKED_AT, tick=False):
        yield


def read(answer: HttpResponseBase) -> PdfReader:
    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.headers["Content-Disposition"].startswith("inline")
    return PdfReader(io.BytesIO(answer.getvalue()))  # type: ignore[attr-defined]


def text(pdf: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in pdf.pages).split())


def entry(subject: str) -> int:
    return Entry.objects.get(subject=subject).index


def test_the_papers_of_a_day_at_the_dairy(dairy: Dairy) -> None:
    day = history.FIRST_DAY
    make = history.make_day(dairy, day, last_ph="5.80")
    cleaned = history.cleaning(dairy, day)
    client = Client()
    client.force_login(dairy.helper.user)
    stranger = Client()
    stranger.force_login(open_dairy(name="Glen Dairy").owner.user)
    deviation = Deviation.objects.get()
    addresses = {
        "batch": f"/papers/batch/{make.lot_id}/",
        "deviation": f"/papers/deviation/{deviation.id}/",
        "limits": f"/plan/{dairy.revision.id}/pdf/limits/",
        "hazards": f"/plan/{dairy.revision.id}/pdf/hazards/",
    }
    for address in addresses.values():
        assert stranger.get(address).status_code == 404

    batch = text(read(client.get(addresses["batch"])))
    assert f"Record of a batch Batch {make.lot.code}" in batch
    for record in Record.objects.filter(lot=make.lot):
        assert batch.count(f"#{entry(f'record:{record.id}')} ") == 1
    for event in make.lot.events.all():
        assert batch.count(f"#{entry(f'lot_event:{event.id}')} ") == 1
    assert "What stands in its way" in batch
    assert deviation.reference in batch
    assert "200 L of milk lot" in batch

    report = text(read(client.get(addresses["deviation"])))
    assert "Deviation report" in report
    assert deviation.control_point.corrective_action in report
    assert make.lot.code in report

    book = read(client.get("/papers/day/2026-03-02/"))
    assert f"#{entry(f'record:{cleaned.id}')} " in text(book)
    assert list(book.attachments) == ["records.json"]
    assert client.get("/papers/day/2026-03-12/").status_code == 404
    assert f"#{entry(f'record:{cleaned.id}')} " not in text(read(client.get("/papers/day/2026-03-03/")))

    log = text(read(client.get("/papers/cleaning/?period_from=2026-03-01&period_to=2026-03-10")))
    assert f"#{entry(f'record:{cleaned.id}')} " in log
    assert not [one for one in Record.objects.exclude(pk=cleaned.pk) if f"#{entry(f'record:{one.id}')} " in log]
    refused = client.get("/papers/cleaning/?period_from=2026-03-10&period_to=2026-03-01")
    assert refused.status_code == 422
    assert "ends before it begins" in refused.content.decode()

    limits = text(read(client.get(addresses["limits"])))
    assert "pH at most 5.40 within 6 h of the starter" in limits
    assert "Vat 1 cleaned" not in limits
    assert "6 and 7 Hazard worksheet" in text(read(client.get(addresses["hazards"])))
    assert client.get(f"/plan/{dairy.revision.id}/pdf/nothing/").status_code == 404
    listed = client.get("/papers/").content.decode()
    assert all(addresses[name] in listed for name in ("limits", "hazards"))


def test_a_batch_without_a_record_has_a_paper_too(dairy: Dairy) -> None:
    make = dairy.start_make(at=history.FIRST_DAY)
    client = Client()
    client.force_login(dairy.owner.user)
    found = text(read(client.get(f"/papers/batch/{make.lot_id}/")))
    assert make.lot.code in found
    assert "Records of critical control points" not in found
    assert "make started" in found


def test_a_blank_form_leads_to_where_its_lines_are_typed_in_and_kept_as_late(dairy: Dairy) -> None:
    client = Client()
    client.force_login(dairy.maker.user)
    every = read(client.get("/papers/forms/"))
    assert len(every.pages) == dairy.revision.checks.count()
    check = dairy.check("Room 1 temperature")
    form = read(client.get(f"/papers/forms/{check.id}/"))
    shown = text(form)
    for words in ("Room 1 temperature", "Top shelf", "°C", "Instrument", "Limit met", "CCP 3"):
        assert words in shown
    (address,) = {
        str(annotation.get_object()["/A"]["/URI"])
        for page in form.pages
        for annotation in page["/Annots"]
        if "/A" in annotation.get_object()
    }
    assert address == f"http://testserver/checks/extra/{check.id}/"

    page = client.get(address.removeprefix("http://testserver")).content.decode()
    fields = {
        name: value
        for name, value in re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', page)
        if name != "csrfmiddlewaretoken"
    }
    measures = [measure.id for measure in check.measures.all()]
    observed = ASKED_AT - timedelta(days=1, hours=2)
    fields |= {f"measure-{one}": "11.2" for one in measures} | {f"unit-{one}": "°C" for one in measures}
    fields |= {
        "observed_at": f"{observed:%Y-%m-%dT%H:%M}",
        "instrument": str(dairy.thermometer.id),
        "note": "From the paper form",
    }
    answer = client.post(address.removeprefix("http://testserver"), fields)
    assert answer.status_code == 302, re.findall(r"errorlist.*?</ul>", answer.content.decode(), re.DOTALL)
    record = Record.objects.get(note="From the paper form")
    assert record.observed_at == observed
    day = text(read(client.get(f"/papers/day/{observed:%Y-%m-%d}/")))
    assert f"#{entry(f'record:{record.id}')} " in day
    assert "Recorded later: 11 Mar 2026, 09:00." in day

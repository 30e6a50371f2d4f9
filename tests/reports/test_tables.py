"""Tables taken away: what they hold, that nothing in them runs, and whose they are."""

import csv
import io

import pytest
import time_machine
from django.test import Client
from openpyxl import load_workbook

from haccp.checks.models import Reading, Record
from haccp.reports.exports.tables import TABLES
from haccp.reports.exports.writing import harmless
from tests.dairy import Dairy, open_dairy
from tests.reports import history
from tests.reports.conftest import ASKED_AT

EVIL = '=HYPERLINK("http://elsewhere.example","11.0")'
DAYS = "?period_from=2026-03-01&period_to=2026-03-10"


@pytest.fixture(autouse=True)
def clock() -> object:
    with time_machine.travel(ASKED_AT, tick=False):
        yield


def test_every_table_in_both_forms_holds_this_dairy_s_rows_and_no_formula(dairy: Dairy) -> None:
    history.make_day(dairy, history.FIRST_DAY, last_ph="5.80")
    history.room_round(dairy, history.FIRST_DAY, note=EVIL)
    history.give_reasons(dairy, "@SUM(1)", ASKED_AT)
    other = open_dairy(name="Glen Dairy")
    history.room_round(other, history.FIRST_DAY, note="seen by nobody")
    client, stranger = Client(), Client()
    client.force_login(dairy.helper.user)
    stranger.force_login(other.owner.user)

    filled = []
    for name, table in TABLES.items():
        answer = client.get(f"/tables/{name}/csv/{DAYS}")
        text = answer.getvalue().decode("utf-8-sig")
        rows = list(csv.reader(io.StringIO(text)))
        book = load_workbook(io.BytesIO(client.get(f"/tables/{name}/xlsx/{DAYS}").getvalue()))
        sheet, about = book.worksheets
        assert rows[0] == [column.head for column in table.columns]
        assert [cell.value for cell in sheet[1]] == rows[0]
        assert sheet.max_row == len(rows)
        assert all(len(row) == len(table.columns) for row in rows)
        assert not [c for row in sheet.iter_rows() for c in row if c.data_type == "f"]
        assert not [cell for row in rows for cell in row if cell.startswith(("=", "@"))]
        sources = {row[0].value: row[2].value for row in about.iter_rows() if row[2:] and row[2].value}
        assert set(sources) >= {column.title for column in table.columns}
        assert "seen by nobody" not in text
        theirs = stranger.get(f"/tables/{name}/csv/{DAYS}").getvalue().decode()
        assert EVIL not in theirs
        filled += [name] if len(rows) > 1 else []
    assert set(filled) >= {"records", "checks", "deviations", "batches", "milk", "events", "climate", "limits", "links"}

    rows = list(csv.DictReader(io.StringIO(client.get(f"/tables/records/csv/{DAYS}").getvalue().decode("utf-8-sig"))))
    with_trace = Record.objects.filter(premises=dairy.owner.premises, readings__isnull=True).count()
    assert len(rows) == Reading.objects.filter(record__premises=dairy.owner.premises).count() + with_trace
    assert "'" + EVIL in {row["Note"] for row in rows}
    ph = next(row for row in rows if row["As typed"] == "5.80")
    assert (ph["Value"], ph["Ruling"], ph["Observed"]) == ("5.8", "breached", "2026-03-02T14:00:00+00:00")


def test_days_that_cannot_be_used_are_refused_and_shown_again(dairy: Dairy) -> None:
    client = Client()
    client.force_login(dairy.owner.user)
    assert client.get("/tables/").status_code == 200
    for address in ("/tables/", "/tables/records/csv/"):
        refused = client.get(f"{address}?period_from=2026-03-10&period_to=2026-03-01")
        assert refused.status_code == 422
        assert 'value="2026-03-10"' in refused.content.decode()
    assert client.get("/tables/nothing/csv/").status_code == 404
    assert client.get("/tables/records/pdf/").status_code == 404


def test_only_what_would_be_a_formula_is_made_harmless() -> None:
    for text in ("=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", " =1", "%0A=1", "|x"):
        assert harmless(text) == "'" + text
    for text in ("-2.5", "+3", "11.0 °C", "plain", "", "a=b", "2026-03-02"):
        assert harmless(text) == text

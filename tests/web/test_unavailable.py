"""The database is gone, restarts, is full or busy: a page that says so, and nothing that was typed is lost."""

import errno
import html
import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import timedelta

import psycopg
import pytest
from django.contrib.auth.models import Permission
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DatabaseError, OperationalError, connection, transaction
from django.test import Client, RequestFactory

from haccp.checks import actions as checks
from haccp.checks.models import DueCheck, Record
from haccp.config import errors, unavailable
from haccp.config.unavailable import Cause, cause_of
from haccp.ledger.models import Entry, Log
from haccp.ledger.verification import verify_log
from tests.api.device import Device, refusal, room_body
from tests.dairy import PASSWORD, Dairy, open_dairy
from tests.web.conftest import NOW, page_of
from tests.web.test_checks import typed

LONG = 1900 * "🧀"  # needs a page of its own in SQLite, which finds room for a short note in those that it has


@pytest.fixture
def dairy(transactional_db: None, clock: object) -> Dairy:
    """As the other pages' one, but what it does is committed."""
    opened = open_dairy(at=NOW - timedelta(hours=14))
    checks.sweep(now=NOW)
    return opened


@pytest.fixture
def maker(dairy: Dairy) -> Client:
    return outside(dairy)


def outside(dairy: Dairy, *, checks_forms: bool = False) -> Client:
    """A browser that gets the answer that people get, and not the exception."""
    client = Client(raise_request_exception=False, enforce_csrf_checks=checks_forms)
    client.force_login(dairy.maker.user)
    return client


@contextmanager
def full_disk() -> Iterator[None]:
    """SQLite: the database may not grow by a page, and has none free. PostgreSQL: its own error as it raises it."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("CREATE TABLE ballast (content BLOB)")
            cursor.execute("PRAGMA page_count")
            cursor.execute(f"PRAGMA max_page_count = {cursor.fetchone()[0]}")
            with suppress(OperationalError):
                while True:
                    cursor.execute("INSERT INTO ballast VALUES (zeroblob(500))")
        else:
            cursor.execute(
                "CREATE FUNCTION no_room() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION"
                " 'could not extend file: No space left on device' USING ERRCODE = '53100'; END $$"
            )
            cursor.execute(f"CREATE TRIGGER no_room BEFORE INSERT ON {Entry._meta.db_table} EXECUTE FUNCTION no_room()")
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            if connection.vendor == "sqlite":
                cursor.execute("PRAGMA max_page_count = 1073741823")
                cursor.execute("DROP TABLE ballast")
            else:
                cursor.execute("DROP FUNCTION no_room CASCADE")


def close_from_outside() -> None:
    """PostgreSQL ends the connection that the pages use, as at a restart."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_backend_pid()")
        pid = cursor.fetchone()[0]
    parameters = connection.get_connection_params()
    with psycopg.connect(
        **{name: parameters[name] for name in ("dbname", "user", "password", "host", "port") if name in parameters}
    ) as other:
        other.execute("SELECT pg_terminate_backend(%s, 5000)", [pid])


def form_of(page: str) -> dict[str, str]:
    """What the browser would send when the button of the page's form is pressed."""
    form = re.search(r'<form method="post"[^>]*class="send-again".*?</form>', page, re.DOTALL)
    assert form is not None, "no form on the page that sends it again"
    fields = re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', form[0])
    return {html.unescape(name): html.unescape(value) for name, value in fields}


def room_of(dairy: Dairy) -> str:
    due = DueCheck.objects.get(premises=dairy.owner.premises, check_due__name="Room 1 temperature", due_at__lte=NOW)
    return f"/checks/{due.id}/"


def test_a_full_disk_is_said_and_what_was_typed_is_sent_again_from_the_page(dairy: Dairy, maker: Client) -> None:
    url = room_of(dairy)
    sent = typed(dairy, page_of(maker.get(url)), "11.5", note='The "door"\r\nwas <shut>.' + LONG)
    with full_disk():
        answer = maker.post(url, sent)
        page = answer.content.decode()
        assert answer.status_code == 503
        assert "There is no room left to save anything" in page
        assert "The &quot;door&quot;<br>was &lt;shut&gt;." in page
        assert int(answer["Retry-After"]) > 0
        assert answer["Cache-Control"] == "no-store"
        assert "default-src 'self'" in answer["Content-Security-Policy"]
        assert maker.get("/records/").status_code != 503  # reading goes on
    assert not Record.objects.exists()
    assert f'action="{url}"' in page

    again = form_of(page)
    assert {name: value for name, value in again.items() if name != "csrfmiddlewaretoken"} == sent
    assert maker.post(url, again, follow=True).status_code == 200

    record = Record.objects.get()
    assert str(record.id) == sent["record_id"]
    assert record.note == sent["note"].replace("\r\n", "\n") or record.note == sent["note"]
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_a_device_is_told_to_send_the_same_again(dairy: Dairy) -> None:
    device = Device(dairy.maker)
    device.client.raise_request_exception = False
    body = room_body(dairy, "11", at=NOW, note=LONG)
    with full_disk():
        answer = device.post("records/", body, key="one")
        assert "under the same id" in refusal(answer, 503, "disk_full")["message"]
        assert int(answer["Retry-After"]) > 0

    assert device.post("records/", body, key="one").status_code == 201
    assert device.post("records/", body, key="one").headers["Idempotent-Replay"] == "true"
    assert Record.objects.count() == 1


@pytest.mark.skipif("connection.vendor != 'postgresql'", reason="SQLite has no server that could go away")
def test_a_server_that_restarts_is_said_and_nothing_is_lost(dairy: Dairy, maker: Client) -> None:
    url, device = room_of(dairy), Device(dairy.owner)
    device.client.raise_request_exception = False
    sent, body = typed(dairy, page_of(maker.get(url)), "11.5"), room_body(dairy, "11", at=NOW)

    close_from_outside()
    answer = maker.post(url, sent)
    assert answer.status_code == 503
    assert "The records cannot be reached just now" in answer.content.decode()
    connection.close()  # as each request of a real server begins
    close_from_outside()
    assert refusal(device.post("records/", body), 503, "unavailable")
    connection.close()

    assert maker.post(url, form_of(answer.content.decode()), follow=True).status_code == 200
    assert str(Record.objects.get().id) == sent["record_id"]


def test_a_page_that_was_only_read_is_tried_again(dairy: Dairy, maker: Client) -> None:
    page = refused_with(RequestFactory().get("/records/?day=2026-03-04")).content.decode()

    assert 'href="/records/?day=2026-03-04">Try again' in page
    assert "<form" not in page


def refused_with(request: object, cause: Cause = Cause.GONE) -> object:
    return unavailable.page(request, cause)  # type: ignore[arg-type]


def test_no_secret_is_in_the_page_and_each_is_asked_for_anew(rf: RequestFactory) -> None:
    request = rf.post(
        "/days/2026-03-04/",
        {
            "password": "tall reeds",
            "new_pin": "4711",
            "comment": "All seen.",
            "content_sha256": "ab12",
            "csrfmiddlewaretoken": "old",
            "file": SimpleUploadedFile("vat 1.csv", b"time,temperature"),
        },
    )
    request._dont_enforce_csrf_checks = True

    page = refused_with(request).content.decode()  # type: ignore[attr-defined]

    assert "tall reeds" not in page
    assert "4711" not in page
    assert form_of(page).keys() == {"comment", "content_sha256", "csrfmiddlewaretoken"}
    assert form_of(page)["csrfmiddlewaretoken"] != "old"
    assert re.search(r'<input type="password" id="[^"]*" name="password" autocomplete="off" required>', page)
    assert re.search(r'<input type="password" id="[^"]*" name="new_pin" autocomplete="off" required>', page)
    assert "vat 1.csv: choose the file once more" in page
    assert 'enctype="multipart/form-data"' in page


def test_what_another_site_sent_gets_no_form_to_be_sent_on(dairy: Dairy) -> None:
    """The failure comes before the form's token is looked at; a page with a good token would be sent on by hand."""
    browser = outside(dairy, checks_forms=True)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            "haccp.premises.middleware.ScopeMiddleware._scope",
            staticmethod(lambda request: (_ for _ in ()).throw(lost_connection())),
        )
        answer = browser.post("/people/invite/", {"email": "eve@elsewhere.example", "role": "owner"})
        page = answer.content.decode()
        assert answer.status_code == 503
        assert "<form" not in page

        # The same with the token of a page of ours.
        browser.cookies["csrftoken"] = token = "a" * 32
        mine = browser.post("/people/invite/", {"email": "ann@weir.example", "csrfmiddlewaretoken": token})
        assert form_of(mine.content.decode())["email"] == "ann@weir.example"


def lost_connection() -> OperationalError:
    """As the driver says it: without a code of the server's."""
    error = OperationalError("the connection is lost")
    error.__cause__ = psycopg.OperationalError("the connection is lost")
    return error


def test_causes_as_the_drivers_say_them() -> None:
    # PostgreSQL, appendix A "PostgreSQL Error Codes"; the classes are the driver's own.
    said = {
        psycopg.errors.AdminShutdown: Cause.GONE,
        psycopg.errors.CrashShutdown: Cause.GONE,
        psycopg.errors.CannotConnectNow: Cause.GONE,
        psycopg.errors.ConnectionFailure: Cause.GONE,
        psycopg.errors.IoError: Cause.GONE,
        psycopg.errors.ReadOnlySqlTransaction: Cause.GONE,
        psycopg.errors.DiskFull: Cause.FULL,
        psycopg.errors.TooManyConnections: Cause.BUSY,
        psycopg.errors.OutOfMemory: Cause.BUSY,
        psycopg.errors.DeadlockDetected: Cause.BUSY,
        psycopg.errors.SerializationFailure: Cause.BUSY,
        psycopg.errors.LockNotAvailable: Cause.BUSY,
        psycopg.OperationalError: Cause.GONE,
        psycopg.InterfaceError: Cause.GONE,
        # Mistakes of ours stay what they are.
        psycopg.errors.UniqueViolation: None,
        psycopg.errors.UndefinedTable: None,
        psycopg.errors.SyntaxError: None,
        psycopg.errors.RaiseException: None,
    }
    for driver, cause in said.items():
        error = DatabaseError("said")
        error.__cause__ = driver("said")
        assert cause_of(error) is cause, driver
    assert cause_of(OSError(errno.ENOSPC, "No space left on device")) is Cause.FULL
    assert cause_of(OSError(errno.EACCES, "Permission denied")) is None
    assert cause_of(ValueError("wrong")) is None
    assert cause_of(None) is None


def test_what_failed_on_the_way_out_of_a_lost_transaction_is_seen_through() -> None:
    later = AttributeError("'NoneType' object has no attribute 'rollback'")
    later.__context__ = lost_connection()  # as Python notes what was being handled

    assert cause_of(later) is Cause.GONE


@pytest.mark.django_db
def test_a_mistake_in_a_query_stays_a_mistake() -> None:
    with pytest.raises(DatabaseError) as found, transaction.atomic():
        Permission.objects.raw("SELECT * FROM nowhere")[0]
    assert cause_of(found.value) is None
    try:
        raise found.value
    except DatabaseError:
        assert errors.server_error(RequestFactory().get("/")).status_code == 500


def test_signing_in_meanwhile_asks_for_the_password_again(dairy: Dairy) -> None:
    browser = Client(raise_request_exception=False)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            "haccp.access.views.sign_in.SignIn.post", lambda *_, **__: (_ for _ in ()).throw(lost_connection())
        )
        answer = browser.post("/sign-in/", {"username": dairy.maker.user.email, "password": PASSWORD})
    assert answer.status_code == 503
    assert PASSWORD not in answer.content.decode()
    again = form_of(answer.content.decode()) | {"password": PASSWORD}
    assert browser.post("/sign-in/", again).status_code == 302

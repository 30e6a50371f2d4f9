"""Sealing and signing: what is added, in which order, and what is refused."""

import datetime as dt
import hashlib
import json
import threading
import uuid
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from haccp.ledger import actions, canonical, merkle, personal, queries
from haccp.ledger.actions import Sealing
from haccp.ledger.errors import LedgerError
from haccp.ledger.models import Entry, Log, PersonalText, Signature

from .conftest import NOON, Fill


def test_an_entry_is_hashed_over_all_its_fields(log: Log) -> None:
    entry = actions.seal(
        log_id=log.pk,
        kind="reading",
        subject="reading:1",
        body={"ph": 5.30, "at": NOON},
        actor="7 Ana Ruiz",
        at=NOON,
    )
    # The leaf written out by hand, as the export's format describes it: RFC 8785, keys in order.
    body = r"{\"at\":\"2026-04-09T12:00:00.123456Z\",\"ph\":5.3}"
    leaf = (
        f'{{"actor":"{entry.actor}","body":"{body}","index":0,"kind":"reading","log":"upper-dairy",'
        '"recorded_at":"2026-04-09T12:00:00.123456Z","subject":"reading:1"}'
    )
    assert entry.leaf_hash == hashlib.sha256(b"\x00" + leaf.encode()).hexdigest()
    name = PersonalText.objects.get()
    assert (name.text, len(name.salt)) == ("7 Ana Ruiz", 64)
    assert entry.actor == "sha256:" + hashlib.sha256(bytes.fromhex(name.salt) + b"7 Ana Ruiz").hexdigest()
    log.refresh_from_db()
    assert (log.size, log.peaks) == (1, [entry.leaf_hash])


def test_the_log_grows_as_the_tree_does(log: Log, fill: Fill) -> None:
    entries = [*fill(1), *fill(4), *fill(8)]
    assert [entry.index for entry in entries] == list(range(13))
    root = merkle.root_of(bytes.fromhex(entry.leaf_hash) for entry in entries)
    assert queries.head(log.pk) == queries.Head(13, root.hex())


def test_an_entry_read_back_hashes_to_its_leaf(log: Log, fill: Fill) -> None:
    sealed = fill(1)[0]
    stored = Entry.objects.get(log=log, index=0)
    assert (stored.body, stored.recorded_at, stored.leaf_hash) == (sealed.body, NOON, sealed.leaf_hash)
    assert json.loads(stored.body) == {"number": 0, "milk": "ewe’s"}


def test_logs_do_not_mix(log: Log, fill: Fill) -> None:
    other = actions.open_log(key="lower-dairy", at=NOON)
    here, there = fill(2), fill(3, into=other)
    assert [entry.index for entry in there] == [0, 1, 2]
    # The same fact at the same place of another log is another leaf.
    assert here[0].body == there[0].body
    assert here[0].leaf_hash != there[0].leaf_hash


def test_sealing_many_costs_no_more_queries_than_sealing_few(log: Log, fill: Fill) -> None:
    counts = []
    for size in (1, 100):
        with CaptureQueriesContext(connection) as queried:
            actions.seal_many(
                log_id=log.pk, sealings=[Sealing("k", f"s:{n}", {}) for n in range(size)], actor="a", at=NOON
            )
        counts.append(len([query for query in queried if "SAVEPOINT" not in query["sql"]]))
    # Lock, insert, move the frontier on, of which PostgreSQL does the last two at once for a few; the first time, the
    # name is looked for again under the lock, and kept with its salt.
    assert counts == [4 if connection.vendor == "postgresql" else 5, 3]


def test_sealing_nothing_changes_nothing(log: Log) -> None:
    assert actions.seal_many(log_id=log.pk, sealings=[], actor="a", at=NOON) == []
    log.refresh_from_db()
    assert log.size == 0


@pytest.mark.django_db(transaction=True)
def test_sealing_outside_a_transaction_is_refused() -> None:
    log = actions.open_log(key="upper-dairy", at=NOON)
    with pytest.raises(LedgerError, match=r"call this inside transaction\.atomic"):
        actions.seal(log_id=log.pk, kind="k", subject="s", body={}, actor="a", at=NOON)
    assert not Entry.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_a_transaction_that_fails_leaves_the_log_as_it_was() -> None:
    log = actions.open_log(key="upper-dairy", at=NOON)

    @transaction.atomic
    def seal_and_fail() -> None:
        actions.seal(log_id=log.pk, kind="k", subject="s", body={}, actor="a", at=NOON)
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        seal_and_fail()
    assert queries.head(log.pk) == queries.Head(0, merkle.EMPTY_ROOT.hex())
    assert not Entry.objects.exists()


def test_somebody_who_appends_without_the_lock_is_noticed(log: Log, monkeypatch: pytest.MonkeyPatch) -> None:
    store = actions._store

    def store_after_another(*given: Any) -> None:
        Log.objects.filter(pk=log.pk).update(size=1, peaks=["00" * 32])
        store(*given)

    monkeypatch.setattr(actions, "_store", store_after_another)
    with pytest.raises(LedgerError, match="Somebody else appended to the log upper-dairy meanwhile"):
        actions.seal(log_id=log.pk, kind="k", subject="s", body={}, actor="a", at=NOON)


def test_what_cannot_be_sealed_is_refused_and_nothing_kept(log: Log) -> None:
    def seal(**given: object) -> None:
        fields = {"kind": "k", "subject": "s", "body": {}, "actor": "a", "at": NOON} | given
        actions.seal(log_id=given.pop("log_id", log.pk), **{k: v for k, v in fields.items() if k != "log_id"})

    with pytest.raises(LedgerError, match="There is no log 00000000-0000-0000-0000-000000000007"):
        seal(log_id=uuid.UUID(int=7))
    with pytest.raises(LedgerError, match="The actor of an entry is text of 1 to 300 characters without NUL"):
        seal(actor="x" * 301)
    with pytest.raises(LedgerError, match="The subject of an entry is text of 1 to 120 characters"):
        seal(subject=" ")
    with pytest.raises(LedgerError, match="The kind of an entry is text of 1 to 60 characters"):
        seal(kind="a\x00b")
    with pytest.raises(canonical.NotCanonicalError, match="has no time zone"):
        seal(at=dt.datetime(2026, 4, 9))  # noqa: DTZ001
    with pytest.raises(canonical.NotCanonicalError, match="ph: nan is not a number"):
        seal(body={"ph": float("nan")})
    assert not Entry.objects.exists()


def test_a_log_key_is_taken_once(log: Log) -> None:
    with pytest.raises(IntegrityError):
        actions.open_log(key=log.key)
    with pytest.raises(LedgerError, match="The key of a log is text of 1 to 120 characters"):
        actions.open_log(key="  ")


def test_an_entry_cannot_take_the_place_of_another(log: Log, fill: Fill) -> None:
    first = fill(1)[0]
    with pytest.raises(IntegrityError):
        Entry.objects.create(log=log, index=first.index, kind="k", subject="s", body="{}", recorded_at=NOON, actor="a")


def sign(log: Log, **given: object) -> Signature:
    fields = {
        "signer_id": uuid.UUID(int=7),
        "printed_name": "Ana Ruiz",
        "meaning": "reviewed",
        "statement": "I have read every record of this day.",
        "content": {"date": dt.date(2026, 4, 9), "records": [{"value": 63.20}], "large": 1e20},
        "method": "password",
        "at": NOON,
    }
    return actions.sign(log_id=log.pk, **(fields | given))


def test_a_signature_keeps_what_was_shown_and_is_sealed(log: Log) -> None:
    # 21 CFR 11.50(a): printed name, date and time, meaning. 11.70: bound to what was signed.
    signature = sign(log)
    shown = '{"date":"2026-04-09","large":100000000000000000000,"records":[{"value":63.2}]}'
    assert signature.content == shown
    assert signature.content_sha256 == hashlib.sha256(shown.encode()).hexdigest()

    entry = queries.entries_for(f"signature:{signature.pk}").get()
    assert (entry.kind, entry.recorded_at) == ("signature", NOON)
    assert personal.texts_of([entry.actor])[entry.actor].text == "00000000-0000-0000-0000-000000000007 Ana Ruiz"
    assert json.loads(entry.body) == {
        "content": {"date": "2026-04-09", "large": 1e20, "records": [{"value": 63.2}]},
        "content_sha256": signature.content_sha256,
        "meaning": "reviewed",
        "method": "password",
        "printed_name": signature.name_reference,
        "signed_at": "2026-04-09T12:00:00.123456Z",
        "signer_id": "00000000-0000-0000-0000-000000000007",
        "statement": "I have read every record of this day.",
    }


@pytest.mark.parametrize("field", ["printed_name", "meaning", "statement", "method"])
@pytest.mark.parametrize("given", [" ", "a\x00b"])
def test_a_signature_that_says_nothing_is_refused(log: Log, field: str, given: str) -> None:
    with pytest.raises(LedgerError, match=f"The {field.replace('_', ' ')} of a signature is text of 1 "):
        sign(log, **{field: given})
    assert not Signature.objects.exists()


def test_a_printed_name_too_long_for_the_column_is_refused_on_every_database(log: Log) -> None:
    with pytest.raises(LedgerError, match="The printed name of a signature is text of 1 to 200 characters"):
        sign(log, printed_name="x" * 201)


@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)
def test_twenty_people_sealing_at_once_leave_no_gap_and_no_double() -> None:
    if connection.vendor != "postgresql":
        pytest.skip("SQLite lets one transaction write at a time; set DATABASE_URL to a PostgreSQL database")
    people, each = 20, 5
    log = actions.open_log(key="upper-dairy", at=NOON)
    together = threading.Barrier(people)

    def work(person: int) -> None:
        try:
            together.wait(timeout=30)
            for number in range(each):
                with transaction.atomic():
                    actions.seal(
                        log_id=log.pk,
                        kind="reading",
                        subject=f"reading:{person}-{number}",
                        body={"person": person},
                        actor=f"person {person}",
                        at=NOON,
                    )
        finally:
            connection.close()

    with ThreadPoolExecutor(people) as pool:
        for done in [pool.submit(work, person) for person in range(people)]:
            done.result()

    entries = list(Entry.objects.filter(log=log).order_by("index"))
    assert [entry.index for entry in entries] == list(range(people * each))
    assert len({entry.subject for entry in entries}) == people * each
    root = merkle.root_of(bytes.fromhex(entry.leaf_hash) for entry in entries)
    assert queries.head(log.pk) == queries.Head(people * each, root.hex())

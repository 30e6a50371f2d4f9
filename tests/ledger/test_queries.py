"""Heads, fingerprints and proofs as a log gives them."""

import base64
import datetime as dt
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from haccp.ledger import actions, merkle, queries
from haccp.ledger.errors import LedgerError
from haccp.ledger.head import read_fingerprint
from haccp.ledger.models import Log

from .conftest import NOON, Fill


def test_heads_of_the_past_can_be_asked_for(log: Log, fill: Fill) -> None:
    leaves = [bytes.fromhex(entry.leaf_hash) for entry in fill(21)]
    for size in range(22):
        assert queries.head(log.pk, size=size) == queries.Head(size, merkle.root_of(leaves[:size]).hex())
    with pytest.raises(LedgerError, match="The log upper-dairy has 21 entries; it never had 22"):
        queries.head(log.pk, size=22)


def test_every_entry_can_be_proven_at_every_size(log: Log, fill: Fill) -> None:
    for entry in fill(11):
        for size in range(entry.index + 1, 12):
            proven = queries.inclusion(entry, size=size)
            assert merkle.includes(
                leaf=bytes.fromhex(proven.leaf_hex),
                index=proven.index,
                size=proven.head.size,
                proof=[bytes.fromhex(text) for text in proven.proof],
                root=bytes.fromhex(proven.head.root_hex),
            )


def test_a_longer_log_can_be_proven_to_begin_as_it_was(log: Log, fill: Fill) -> None:
    fill(19)
    for first in range(20):
        old, new = queries.head(log.pk, size=first), queries.head(log.pk)
        proof = queries.consistency(log.pk, first=first, second=19)
        assert merkle.extends(
            first=first,
            first_root=bytes.fromhex(old.root_hex),
            second=19,
            second_root=bytes.fromhex(new.root_hex),
            proof=[bytes.fromhex(text) for text in proof],
        )
    with pytest.raises(LedgerError, match="it never had 20"):
        queries.consistency(log.pk, first=3, second=20)


def test_a_proof_from_a_long_log_takes_two_queries(log: Log, fill: Fill) -> None:
    entry = fill(600)[77]
    with CaptureQueriesContext(connection) as queried:
        queries.inclusion(entry)
    assert len(queried) == 2  # the log, and the O(log n) entries that hold the subtrees


def test_entries_for_a_subject_are_in_order(log: Log, fill: Fill) -> None:
    fill(3)
    other = actions.open_log(key="lower-dairy", at=NOON)
    fill(2, into=other)
    for kind in ("amendment", "release"):
        actions.seal(log_id=log.pk, kind=kind, subject="reading:1", body={}, actor="a", at=NOON)
    found = queries.entries_for("reading:1", log_id=log.pk)
    assert [entry.kind for entry in found] == ["reading", "amendment", "release"]
    assert queries.entries_for("reading:1").count() == 4
    assert not queries.entries_for("reading:99").exists()


def test_a_fingerprint_is_the_beginning_of_the_root_and_the_size() -> None:
    head = queries.Head(1204, "00112233445566778899" + "ab" * 22)
    letters = base64.b32encode(bytes.fromhex("00112233445566778899")).decode()
    printed = queries.fingerprint(head)
    assert printed.replace("-", "") == f"{letters}/1204"
    assert [len(group) for group in printed.split("/")[0].split("-")] == [4, 4, 4, 4]

    assert read_fingerprint(printed).fits(head)
    assert read_fingerprint(f" {printed.lower().replace('-', ' ')} ").fits(head)
    assert not read_fingerprint(printed).fits(queries.Head(1205, head.root_hex))
    assert not read_fingerprint(printed).fits(queries.Head(1204, "ff" * 32))


@pytest.mark.parametrize("typed", ["", "NY2A-WOM4-7767/3", "NY2A-WOM4-7767-5BB1/3", "NY2A-WOM4-7767-5BBL", "x/y"])
def test_a_mistyped_fingerprint_is_told_apart(typed: str) -> None:
    with pytest.raises(LedgerError, match=r"is not a fingerprint\. Type it as it is printed"):
        read_fingerprint(typed)


def test_a_clock_that_was_set_back_is_named_and_the_order_stays(log: Log, fill: Fill) -> None:
    fill(2)
    back, hour = NOON - dt.timedelta(hours=1), dt.timedelta(hours=1)
    for minutes in (0.0, 5.0, 4.5, 70.0):  # half a minute is what the clocks of two hosts differ by
        moment = back + dt.timedelta(minutes=minutes)
        with transaction.atomic():
            actions.seal(log_id=log.pk, kind="k", subject=f"s:{minutes}", body={}, actor="7 Ana Ruiz", at=moment)
    assert queries.set_back(log.pk) == [queries.SetBack(2, NOON, NOON - hour)]

    said = StringIO()
    call_command("verify_ledger", "--no-rows", stdout=said)
    assert "6 entries" in said.getvalue()
    assert (
        "between entry 1 and entry 2 the service’s clock was set back, from 2026-04-09 12:00:00 to" in said.getvalue()
    )

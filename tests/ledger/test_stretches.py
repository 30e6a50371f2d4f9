"""Entries verified a stretch at a time: the same bytes, hashes and sentences as one by one."""

import datetime as dt
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from django.db import connection, transaction
from hypothesis import given, settings
from hypothesis import strategies as st

from haccp.ledger import actions, leaf, queries, signed_heads, signing_key, stretches, triggers, verification
from haccp.ledger.actions import Sealing
from haccp.ledger.head import fingerprint, read_fingerprint
from haccp.ledger.merkle import Frontier
from haccp.ledger.models import Entry, Log, SignedHead
from haccp.ledger.verification import verify_log

from .conftest import NOON, Fill

Tamper = Callable[..., None]
L = stretches.LENGTH
# What JSON escapes, what it does not, what lies beyond one byte, and the character that bodies are joined by.
texts = st.text(st.sampled_from(["a", '"', "\\", "\n", "\x1f", "\x7f", "é", "\u2028", "🧀", "{", "/"]), max_size=8)


@given(st.lists(st.tuples(texts, texts, texts, texts), min_size=1, max_size=6), st.integers(0, 10**9), texts)
@settings(max_examples=300, deadline=None)
def test_leaves_are_those_of_one_entry_at_a_time(entries: list[tuple[str, ...]], micros: int, log_key: str) -> None:
    at = NOON + dt.timedelta(microseconds=micros)
    fraction = f".{at.microsecond:06}".rstrip("0") if at.microsecond else ""
    written = f"{at.astimezone(dt.UTC):%Y-%m-%d %H:%M:%S}{fraction}+00"  # as PostgreSQL casts it to text
    rows = [
        (place, kind, subject, body, "", "", written, actor)
        for place, (kind, subject, body, actor) in enumerate(entries)
    ]
    one_by_one = [
        leaf.leaf_hash(log_key=log_key, index=place, kind=kind, subject=subject, body=body, recorded_at=at, actor=actor)
        for place, (kind, subject, body, actor) in enumerate(entries)
    ]
    assert stretches._leaves(log_key, rows, {row[stretches.ACTOR] for row in rows}) == one_by_one


def test_subtrees_are_those_that_appending_closes() -> None:
    leaves = [bytes([place % 256]) * 32 for place in range(L)]
    closed, frontier = [], Frontier()
    for one in leaves:
        appended = frontier.append(one)
        frontier = appended.frontier
        closed.append(json.dumps([root.hex() for root in appended.closed]))
    levels = stretches._levels(leaves)
    assert stretches._closed(levels) == closed
    assert levels[-1] == [frontier.root()]


def test_a_moment_of_another_zone_is_not_taken_for_utc() -> None:
    with pytest.raises(ValueError, match="not in UTC"):
        stretches._moment("2026-04-09 12:00:00+02")


@pytest.fixture
def long_log(log: Log, fill: Fill) -> Log:
    """Two stretches and a bit."""
    fill(2 * L + 3)
    log.refresh_from_db()
    return log


def test_a_long_log_holds_and_its_stretches_are_not_walked(long_log: Log, monkeypatch: pytest.MonkeyPatch) -> None:
    walked: list[int] = []
    plain = verification._Run._walk

    def walk(run: verification._Run, entry: Entry, *rest: object) -> None:
        walked.append(entry.index)
        plain(run, entry, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(verification._Run, "_walk", walk)
    report = verify_log(long_log, kinds={})
    assert (report.problem, report.head) == ("", queries.head(long_log.pk))
    assert walked == [2 * L, 2 * L + 1, 2 * L + 2]


@contextmanager
def undone() -> Iterator[None]:
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


CHANGES = (
    "body = '{}'",
    "actor = '8 Somebody else'",
    "kind = 'other'",
    "subject = 'reading:4'",
    "recorded_at = '2026-04-09 12:00:00.000001+00:00'",
    "leaf_hash = upper(leaf_hash)",
    "leaf_hash = substr(leaf_hash, 1, 63)",
    "subtrees = '[\"00\"]'",
)


def test_what_was_changed_is_named_wherever_it_stands(long_log: Log, tamper: Tamper) -> None:
    for index in (0, 511, L - 1, L, 2 * L - 1, 2 * L + 1):
        for change in CHANGES:
            with undone():
                tamper((f'UPDATE ledger_entry SET {change} WHERE "index" = {index}', []))
                problem = verify_log(long_log, kinds={}).problem
            assert problem.startswith(f"Entry {index} of the log upper-dairy ("), change


def test_what_was_dropped_is_named(long_log: Log, tamper: Tamper) -> None:
    for index in (0, 700, L - 1, L):
        with undone():
            tamper((f'DELETE FROM ledger_entry WHERE "index" = {index}', []))
            one = verify_log(long_log, kinds={}).problem
            tamper((f'DELETE FROM ledger_entry WHERE "index" >= {index}', []))
            all_after = verify_log(long_log, kinds={}).problem
        assert one == f"Entry {index} of the log upper-dairy is missing: entry {index + 1} follows."
        assert all_after == f"Entry {index} of the log upper-dairy is missing: the log counts {2 * L + 3} entries."


def test_heads_and_fingerprints_within_a_stretch_are_compared(long_log: Log) -> None:
    for size in (1, 1000, L, L + 1, 2 * L - 1, 2 * L, 2 * L + 2):
        right = read_fingerprint(fingerprint(queries.head(long_log.pk, size=size)))
        assert verify_log(long_log, kinds={}, fingerprints=[right]).holds
        wrong = read_fingerprint(f"AAAA-AAAA-AAAA-AAAA/{size}")
        assert "the log was rewritten" in verify_log(long_log, kinds={}, fingerprints=[wrong]).problem
        with undone():
            sign_another(long_log, size)
            assert f"The first {size} entries" in verify_log(long_log, kinds={}).problem


def sign_another(log: Log, size: int) -> None:
    """A head with a good signature, of a root that the log never had at that size."""
    root = queries.head(log.pk, size=size - 1 or 2).root_hex
    signed = signed_heads.message(log=log.key, size=size, root=root, signed_at=NOON)
    SignedHead.objects.create(
        log=log,
        size=size,
        root_hex=root,
        signed_at=NOON,
        public_key=signing_key.public_hex(),
        signature=signing_key.sign(signed).hex(),
    )


def test_a_name_that_is_gone_is_named(long_log: Log, tamper: Tamper) -> None:
    tamper(("DELETE FROM ledger_personaltext", []))
    assert "The name of who sealed entry 0" in verify_log(long_log, kinds={}).problem


@pytest.mark.skipif("connection.vendor != 'postgresql'", reason="a database in memory is seen by one process alone")
@pytest.mark.django_db(transaction=True)
def test_several_processes_find_the_same() -> None:
    log = actions.open_log(key="upper-dairy", at=NOON)
    facts = [Sealing("reading", f"reading:{place}", {"number": place}) for place in range(2 * stretches.RUN + 5)]
    with transaction.atomic():
        actions.seal_many(log_id=log.pk, sealings=facts, actor="7 Ana Ruiz", at=NOON)
    report = verify_log(log, kinds={}, processes=2)
    assert (report.problem, report.entries) == ("", len(facts))
    assert report.head == queries.head(log.pk)

    changed = stretches.RUN + 3
    with triggers.lifted(connection), connection.cursor() as cursor:
        cursor.execute("UPDATE ledger_entry SET body = '{}' WHERE \"index\" = %s", [changed])
    assert verify_log(log, kinds={}, processes=2).problem.startswith(f"Entry {changed} of the log upper-dairy (")

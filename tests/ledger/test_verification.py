"""Somebody who owns the database takes the triggers away and changes something: verification names it."""

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from haccp.ledger import actions, leaf, queries, sealed_kinds, triggers, verification
from haccp.ledger.head import read_fingerprint
from haccp.ledger.models import Entry, Log, Signature
from haccp.ledger.sealed_kinds import SealedKind
from haccp.ledger.verification import verify_log

from .conftest import NOON, Fill

Tamper = Callable[..., None]


class Readings:
    """Rows of a room above, as its fetch functions would give them."""

    def __init__(self, log: Log) -> None:
        self.rows: dict[str, dict[str, object]] = {
            entry.subject: {"number": entry.index, "milk": "ewe’s"} for entry in log.entries.all()
        }

    def fetch(self, subjects: Sequence[str]) -> Mapping[str, Mapping[str, object]]:
        return {subject: self.rows[subject] for subject in subjects if subject in self.rows}

    def subjects(self, log_key: str) -> Iterator[str]:
        assert log_key == "upper-dairy"
        return iter(self.rows)

    @property
    def kinds(self) -> dict[str, SealedKind]:
        return {"reading": SealedKind("reading", self.fetch, self.subjects)}


def test_an_untouched_log_holds(log: Log, fill: Fill) -> None:
    for size in (0, 1, 6, 13):
        fill(size - log.size)
        report = verify_log(log, kinds=Readings(log).kinds)
        assert (report.problem, report.holds) == ("", True)
        assert (report.head, report.entries, report.rows) == (queries.head(log.pk), size, size)


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("body", '{"milk":"cow’s","number":3}'),
        ("actor", "8 Somebody else"),
        ("kind", "other"),
        ("subject", "reading:4"),
        ("recorded_at", NOON + dt.timedelta(microseconds=1)),
    ],
)
def test_a_changed_field_is_named(log: Log, fill: Fill, tamper: Tamper, column: str, value: object) -> None:
    fill(7)
    tamper((f'UPDATE ledger_entry SET {column} = %s WHERE "index" = 3', [value]))
    report = verify_log(log)
    assert report.problem.startswith("Entry 3 of the log upper-dairy (")
    assert report.problem.endswith("was changed after it was sealed: it does not hash to its leaf.")


def test_one_flipped_byte_is_named(log: Log, fill: Fill, tamper: Tamper) -> None:
    fill(7)
    tamper(("UPDATE ledger_entry SET body = replace(body, 'ewe', 'ewf') WHERE \"index\" = 6", []))
    assert "Entry 6 of the log upper-dairy (reading, reading:6) was changed" in verify_log(log).problem


@pytest.mark.parametrize(
    ("where", "sentence"),
    [
        ('"index" = 0', "Entry 0 of the log upper-dairy is missing: entry 1 follows."),
        ('"index" IN (2, 3)', "Entry 2 of the log upper-dairy is missing: entry 4 follows."),
        ('"index" = 6', "Entry 6 of the log upper-dairy is missing: the log counts 7 entries."),
        ("1 = 1", "Entry 0 of the log upper-dairy is missing: the log counts 7 entries."),
    ],
)
def test_a_deleted_entry_is_named(log: Log, fill: Fill, tamper: Tamper, where: str, sentence: str) -> None:
    fill(7)
    tamper((f"DELETE FROM ledger_entry WHERE {where}", []))
    assert verify_log(log).problem == sentence


def test_reordered_entries_are_named(log: Log, fill: Fill, tamper: Tamper) -> None:
    fill(7)
    swap = 'UPDATE ledger_entry SET "index" = %s WHERE "index" = %s'
    tamper((swap, [99, 2]), (swap, [2, 4]), (swap, [4, 99]))
    assert verify_log(log).problem.startswith("Entry 2 of the log upper-dairy (reading, reading:4) was changed")


def test_an_inserted_entry_is_named(log: Log, fill: Fill, tamper: Tamper) -> None:
    fill(7)
    tamper(
        (
            "INSERT INTO ledger_entry"
            ' (log_id, "index", kind, subject, body, leaf_hash, subtrees, recorded_at, actor)'
            " SELECT log_id, 7, kind, 'reading:7', body, leaf_hash, subtrees, recorded_at, actor"
            ' FROM ledger_entry WHERE "index" = 3',
            [],
        )
    )
    assert verify_log(log).problem == "Entry 7 of the log upper-dairy was never sealed: the log counts 7 entries."

    tamper(("UPDATE ledger_log SET size = 8, peaks = '[\"%s\"]'" % ("00" * 32), []))
    assert verify_log(log).problem.startswith("Entry 7 of the log upper-dairy (reading, reading:7) was changed")


def rewrite(log: Log, changed: int, *, subtrees: bool, peaks: bool) -> list[tuple[str, list[object]]]:
    """The statements of a forger who changes one body and writes the hashes after it again, as far as told."""
    forged = Log(key="upper-dairy")
    frontier, statements = forged.frontier, []
    for entry in log.entries.order_by("index"):
        body = '{"milk":"cow’s"}' if entry.index == changed else entry.body
        fields = {name: getattr(entry, name) for name in ("index", "kind", "subject", "recorded_at", "actor")}
        hashed = leaf.leaf_hash(log_key=log.key, body=body, **fields)
        appended = frontier.append(hashed)
        frontier = appended.frontier
        closed = str([root.hex() for root in appended.closed] if subtrees else entry.subtrees).replace("'", '"')
        statements.append(
            (
                'UPDATE ledger_entry SET body = %s, leaf_hash = %s, subtrees = %s WHERE "index" = %s',
                [body, hashed.hex(), closed, entry.index],
            )
        )
    if peaks:
        written = str([peak.hex() for peak in frontier.peaks]).replace("'", '"')
        statements.append(("UPDATE ledger_log SET peaks = %s", [written]))
    return statements


def test_a_forger_who_rewrites_a_leaf_trips_over_the_subtrees(log: Log, fill: Fill, tamper: Tamper) -> None:
    fill(13)
    tamper(*rewrite(log, 9, subtrees=False, peaks=False))
    assert verify_log(log).problem == (
        "Entry 9 of the log upper-dairy (reading, reading:9), or one before it, was changed after it was sealed:"
        " together they do not hash to the subtrees stored with it."
    )


def test_a_forger_who_rewrites_the_subtrees_trips_over_the_root(log: Log, fill: Fill, tamper: Tamper) -> None:
    fill(13)
    tamper(*rewrite(log, 9, subtrees=True, peaks=False))
    assert verify_log(log).problem == (
        "The 13 entries of the log upper-dairy do not hash to the root that the log keeps"
        " (first wrong: entries 8 to 11)."
    )


def test_a_forger_who_rewrites_everything_trips_over_paper(log: Log, fill: Fill, tamper: Tamper) -> None:
    fill(10)
    before, after = (queries.fingerprint(queries.head(log.pk, size=size)) for size in (9, 10))
    fill(3)
    tamper(*rewrite(log, 9, subtrees=True, peaks=True))
    # The database agrees with itself, and only what was printed in the past tells.
    assert verify_log(log, rows=False).holds
    assert verify_log(log, fingerprints=[read_fingerprint(before)]).holds
    assert verify_log(log, fingerprints=[read_fingerprint(before), read_fingerprint(after)]).problem == (
        "The first 10 entries of the log upper-dairy are not those that it had when the given fingerprint was"
        " printed: the log was rewritten, or the fingerprint is of another log."
    )


def test_entries_taken_from_the_end_are_told_by_paper(log: Log, fill: Fill, tamper: Tamper) -> None:
    fill(8)
    short = queries.head(log.pk), list(log.peaks)
    fill(2)
    printed = read_fingerprint(queries.fingerprint(queries.head(log.pk)))
    tamper(
        ('DELETE FROM ledger_entry WHERE "index" >= 8', []),
        ("UPDATE ledger_log SET size = 8, peaks = %s", [str(short[1]).replace("'", '"')]),
    )
    assert verify_log(log).holds
    assert verify_log(log, fingerprints=[printed]).problem == (
        "The log upper-dairy has 8 entries, but a fingerprint was printed when it had 10: entries were taken from"
        " its end, or the fingerprint is of another log."
    )


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"milk": "cow’s"}, 'milk was "ewe’s" and is "cow’s".'),
        ({"milk": None}, 'milk was "ewe’s" and is null.'),
        ({"number": 4.5}, "number was 4 and is 4.5."),
        ({"extra": [1]}, "extra was not there."),
    ],
)
def test_a_row_that_was_changed_is_named(log: Log, fill: Fill, change: dict[str, object], sentence: str) -> None:
    fill(6)
    readings = Readings(log)
    readings.rows["reading:4"] |= change
    assert verify_log(log, kinds=readings.kinds).problem == (
        f"The row of reading:4 was changed after entry 4 of the log upper-dairy sealed it: {sentence}"
    )
    assert verify_log(log, kinds=readings.kinds, rows=False).holds


def test_the_first_difference_is_found_in_depth(log: Log) -> None:
    sealed = {"trace": [{"t": 1, "c": 63.0}, {"t": 2, "c": 63.5}], "note": "x" * 200}
    actions.seal(log_id=log.pk, kind="trace", subject="trace:1", body=sealed, actor="a", at=NOON)

    def problem(row: dict[str, object]) -> str:
        return verify_log(log, kinds={"trace": SealedKind("trace", lambda _: {"trace:1": row})}).problem

    assert problem(sealed) == ""
    assert problem(sealed | {"trace": [{"t": 1, "c": 63.0}, {"t": 2, "c": 64.5}]}).endswith(
        "sealed it: trace[1].c was 63.5 and is 64.5."
    )
    assert problem({"trace": sealed["trace"]}).endswith("sealed it: note is no longer there.")
    assert problem(sealed | {"trace": []}).endswith('sealed it: trace was [{"c":63,"t":1},{"c":63.5,"t":2}] and is [].')
    assert problem(sealed | {"note": "y"}).endswith(f'sealed it: note was "{"x" * 76}… and is "y".')
    assert problem(sealed | {"note": float("nan")}) == (
        "The row of trace:1 was changed after it was sealed: note: nan is not a number that JSON can hold."
        " Leave it out or give null."
    )


def test_a_row_that_is_gone_is_named(log: Log, fill: Fill) -> None:
    fill(6)
    readings = Readings(log)
    del readings.rows["reading:2"]
    assert verify_log(log, kinds=readings.kinds).problem == (
        "The row of reading:2 is gone: entry 2 of the log upper-dairy sealed it as reading."
    )


def test_a_row_that_was_never_sealed_is_named(log: Log, fill: Fill) -> None:
    fill(6)
    readings = Readings(log)
    readings.rows["reading:77"] = {}
    assert verify_log(log, kinds=readings.kinds).problem == (
        "The row of reading:77 was never sealed: the log upper-dairy has no entry of the kind reading for it."
    )


def test_a_row_that_was_sealed_twice_is_named(log: Log, fill: Fill) -> None:
    fill(6)
    readings = Readings(log)
    actions.seal(
        log_id=log.pk, kind="reading", subject="reading:1", body=readings.rows["reading:1"], actor="a", at=NOON
    )
    assert verify_log(log, kinds=readings.kinds).problem == (
        "The row of reading:1 has 2 entries as reading in the log upper-dairy, where one is due."
    )


def sign(log: Log) -> Signature:
    return actions.sign(
        log_id=log.pk,
        signer_id="7",
        printed_name="Ana Ruiz",
        meaning="reviewed",
        statement="I have read every record of this day.",
        content={"date": "2026-04-09", "values": [63.2, 1e20]},
        method="password",
        at=NOON,
    )


@pytest.mark.parametrize(
    ("column", "value", "sentence"),
    [
        ("printed_name", "Somebody else", 'and is "Somebody else".'),
        (
            "content",
            '{"date":"2026-04-10","values":[63.2,1e20]}',
            'content.date was "2026-04-09" and is "2026-04-10".',
        ),
        ("signed_at", NOON + dt.timedelta(days=1), "signed_at was"),
        ("content_sha256", "0" * 64, "content_sha256 was"),
        ("content", "{", 'content was {"date":"2026-04-09","values":[63.2,100000000000000000000]} and is "{".'),
    ],
)
def test_a_changed_signature_is_named(log: Log, tamper: Tamper, column: str, value: object, sentence: str) -> None:
    signature = sign(log)
    assert verify_log(log).rows == 1
    tamper((f"UPDATE ledger_signature SET {column} = %s", [value]))
    problem = verify_log(log).problem
    assert problem.startswith(f"The row of signature:{signature.pk} was changed after entry 0 of the log upper-dairy")
    assert sentence in problem


def test_an_entry_about_no_signature_is_named(log: Log) -> None:
    actions.seal(log_id=log.pk, kind="signature", subject="signature:x", body={}, actor="a", at=NOON)
    assert verify_log(log).problem.startswith("The row of signature:x is gone")


def test_a_signature_without_its_entry_is_named(log: Log) -> None:
    sign(log)
    forged = Signature.objects.create(log=log, signer_id="8", content="{}", signed_at=NOON)
    assert verify_log(log).problem.startswith(f"The row of signature:{forged.pk} was never sealed")


def test_a_long_log_is_read_in_chunks(log: Log, fill: Fill, monkeypatch: pytest.MonkeyPatch) -> None:
    fill(90)
    asked: list[int] = []
    readings = Readings(log)

    def fetch(subjects: Sequence[str]) -> Mapping[str, Mapping[str, object]]:
        asked.append(len(subjects))
        return readings.fetch(subjects)

    monkeypatch.setattr(verification, "CHUNK", 40)
    with CaptureQueriesContext(connection) as queried:
        report = verify_log(log, kinds={"reading": SealedKind("reading", fetch, readings.subjects)})
    assert report.holds
    assert asked == [40, 40, 10]
    # The names and heads; entries, last entry, size; entries again, for their rows; sealed twice, how many of each
    # kind; three chunks of subjects.
    assert len(queried) == 13


def test_a_kind_is_registered_once() -> None:
    assert "signature" in sealed_kinds.registered()
    with pytest.raises(ValueError, match="The kind “signature” is registered already"):
        sealed_kinds.register("signature", fetch_bodies=lambda subjects: {})


def verify(*arguments: str) -> str:
    out = StringIO()
    call_command("verify_ledger", *arguments, stdout=out, skip_checks=True)
    return out.getvalue()


def test_the_command_says_that_all_logs_hold(log: Log, fill: Fill) -> None:
    fill(5)
    actions.open_log(key="lower-dairy", at=NOON)
    printed = queries.fingerprint(queries.head(log.pk))
    assert verify().splitlines() == [
        f"lower-dairy: 0 entries and 0 rows hold. Fingerprint {queries.fingerprint(queries.Head(0, EMPTY))}",
        f"upper-dairy: 5 entries and 0 rows hold. Fingerprint {printed}",
    ]
    fill(1)
    assert verify("--log", "upper-dairy", "--fingerprint", printed).startswith("upper-dairy: 6 entries")


EMPTY = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


def test_the_command_fails_with_the_sentence(log: Log, fill: Fill, tamper: Tamper) -> None:
    fill(5)
    tamper(('DELETE FROM ledger_entry WHERE "index" = 2', []))
    with pytest.raises(CommandError, match=r"The database no longer refuses changes to \w+: somebody took"):
        verify()
    triggers.restore(connection)
    with pytest.raises(CommandError, match=r"^Entry 2 of the log upper-dairy is missing: entry 3 follows\.$") as failed:
        verify()
    assert failed.value.returncode == 1
    assert Entry.objects.count() == 4


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["--log", "nowhere"], "There is no log “nowhere”. Leave out --log to check all logs."),
        (["--fingerprint", "NY2A-WOM4-7767-5BBL/2"], "name the log with --log KEY"),
        (["--log", "upper-dairy", "--fingerprint", "NY2A"], "“NY2A” is not a fingerprint"),
        (["--log", "upper-dairy", "--fingerprint", "NY2A-WOM4-7767-5BBL/0"], "The first 0 entries"),
    ],
)
@pytest.mark.usefixtures("log")
def test_the_command_refuses_in_a_sentence(arguments: list[str], sentence: str) -> None:
    with pytest.raises(CommandError) as refused:
        verify(*arguments)
    assert sentence in str(refused.value)

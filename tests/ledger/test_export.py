"""Exported records, checked by the program that an inspector runs on a machine without this service."""

import json
import random
import re
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from haccp.ledger import actions, export, queries
from haccp.ledger.export import Export
from haccp.ledger.models import Log
from haccp.ledger.standalone import verify_records

from .conftest import NOON, Fill

Check = Callable[..., tuple[int, str]]


@pytest.fixture
def exported(log: Log, fill: Fill) -> Export:
    fill(13)
    hard = {"text": '€ \u0000\u001f\u007f\u2028"\\/\b\f\n\r\t 😀', "number": 1e21}
    actions.seal(log_id=log.pk, kind="note", subject="reading:7", body=hard, actor="7 Ana “\t” Ruiz", at=NOON)
    fill(3)
    return export.export_subjects(log_id=log.pk, subjects=["reading:7", "reading:0", "reading:12", "nothing:1"])


@pytest.fixture
def check(tmp_path: Path) -> Check:
    """Runs the program as it is handed out: alone in a folder, without site-packages."""

    def run(document: object, *arguments: str) -> tuple[int, str]:
        program = tmp_path / "verify_records.py"
        program.write_bytes(Path(verify_records.__file__).read_bytes())
        path = tmp_path / "records.json"
        text = document if isinstance(document, str) else json.dumps(document)
        path.write_text(text, encoding="utf-8")
        done = subprocess.run(
            [sys.executable, "-I", "-S", str(program), str(path), *arguments],
            capture_output=True,
            encoding="utf-8",
            env={"PYTHONIOENCODING": "utf-8"},
            timeout=60,
            check=False,
        )
        assert done.stderr == ""
        return done.returncode, done.stdout

    return run


def test_an_export_holds_the_entries_asked_for(log: Log, exported: Export) -> None:
    assert [(entry["index"], entry["kind"]) for entry in exported["entries"]] == [
        (0, "reading"),
        (7, "reading"),
        (12, "reading"),
        (13, "note"),
    ]
    assert list(exported) == ["format", "log", "size", "root", "entries", "heads", "names"]
    assert (exported["log"], exported["size"], [head["size"] for head in exported["heads"]]) == (
        "upper-dairy",
        17,
        [17],
    )
    assert sorted(name["text"] for name in exported["names"].values()) == ["7 Ana Ruiz", "7 Ana “\t” Ruiz"]
    assert exported["root"] == queries.head(log.pk).root_hex


def test_an_export_costs_few_queries_whatever_its_size(log: Log, exported: Export) -> None:
    for subjects in (["reading:1"], [f"reading:{number}" for number in range(12)]):
        with CaptureQueriesContext(connection) as queried:
            export.export_subjects(log_id=log.pk, subjects=subjects)
        # The log, its signed head, where the entries stand, the entries, the subtrees of their proofs, the heads and
        # theirs, the names.
        assert len([query for query in queried if "SAVEPOINT" not in query["sql"]]) == 9


def test_an_honest_export_holds(check: Check, log: Log, exported: Export) -> None:
    printed = queries.fingerprint(queries.head(log.pk))
    code, said = check(exported)
    assert code == 0
    assert said.startswith("HOLDS. 4 records of the log upper-dairy, which had 17 entries.\nFingerprint " + printed)
    assert check(exported, "--fingerprint", printed.lower().replace("-", " "))[0] == 0


def test_an_export_at_an_earlier_moment_still_holds(check: Check, exported: Export, fill: Fill) -> None:
    fill(20)
    assert check(exported)[0] == 0


def test_what_is_sealed_while_an_export_is_made_is_left_for_the_next(
    check: Check, log: Log, exported: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    head_of = queries.head

    def head_and_then_one_more(*given: object, **named: object) -> queries.Head:
        actions.seal(log_id=log.pk, kind="late", subject="reading:7", body={}, actor="a", at=NOON)
        return head_of(*given, **named)

    monkeypatch.setattr(queries, "head", head_and_then_one_more)
    again = export.export_subjects(log_id=log.pk, subjects=["reading:7"])
    assert [entry["kind"] for entry in again["entries"]] == ["reading", "note"]
    assert again["size"] == exported["size"]
    assert check(again)[0] == 0


def test_another_fingerprint_does_not_hold(check: Check, exported: Export) -> None:
    code, said = check(exported, "--fingerprint", "AAAA-AAAA-AAAA-AAAA/17")
    assert code == 1
    assert "DOES NOT HOLD. The document's fingerprint is" in said
    assert check(exported, "--fingerprint", "")[0] == 1


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("body", '{"milk":"cow’s","number":7}'),
        ("actor", "somebody else"),
        ("kind", "other"),
        ("subject", "reading:8"),
        ("recorded_at", "2026-04-09T12:00:00.123457Z"),
        ("index", 8),
    ],
)
def test_a_changed_field_does_not_hold(check: Check, exported: Export, field: str, value: object) -> None:
    exported["entries"][1] |= {field: value}
    code, said = check(exported)
    assert code == 1
    assert "is not what was sealed: it does not hash to its leaf." in said


def test_a_forged_leaf_does_not_lead_to_the_root(check: Check, exported: Export) -> None:
    entry = exported["entries"][1]
    entry["body"] = "{}"
    entry["leaf_hash"] = verify_records.leaf_hash(exported["log"], dict(entry)).hex()
    code, said = check(exported)
    assert code == 1
    assert "Entry 7 (reading, reading:7) is not in this log: its proof does not lead to the log's root." in said


def test_another_log_root_or_size_does_not_hold(check: Check, exported: Export) -> None:
    for change in ({"log": "lower-dairy"}, {"root": "0" * 64}, {"size": 400}):
        assert check(exported | change)[0] == 1


def test_entries_out_of_place_do_not_hold(check: Check, exported: Export) -> None:
    entries = exported["entries"]
    for wrong in (entries[::-1], [entries[0], entries[0]]):
        code, said = check(exported | {"entries": wrong})
        assert code == 1
        assert "is out of place" in said
    assert "is out of place" in check(exported | {"entries": entries[3:], "size": 12})[1]


@pytest.mark.parametrize(
    ("document", "sentence"),
    [
        ("", "is not a JSON document, or was cut short"),
        ('{"format": "ledger-export/2", "log": "x", "si', "is not a JSON document, or was cut short"),
        ("[" * 100_000, "is not a JSON document, or was cut short"),
        ([], "is not an export of sealed records: its “format” is not ledger-export/2."),
        ({"format": "ledger-export/9"}, "is not an export of sealed records"),
        ({"format": "ledger-export/2"}, "The document lacks “log”"),
    ],
)
def test_an_unreadable_document_is_told_apart(check: Check, document: object, sentence: str) -> None:
    code, said = check(document)
    assert code == 2
    assert said.startswith("NOT CHECKED. ")
    assert sentence in said


@pytest.mark.parametrize(
    ("place", "value", "sentence"),
    [
        ("index", True, "Entry number 2 lacks “index”, or it is not of the right type (int)."),
        ("proof", ["xyz"], "Entry number 2 holds a hash that is not 64 hexadecimal digits: 'xyz'."),
        ("leaf_hash", None, "Entry number 2 lacks “leaf_hash”"),
    ],
)
def test_a_broken_entry_is_named(check: Check, exported: Export, place: str, value: object, sentence: str) -> None:
    exported["entries"][1] |= {place: value}
    code, said = check(exported)
    assert code == 2
    assert sentence in said


def test_any_byte_that_says_something_else_is_found(exported: Export, tmp_path: Path) -> None:
    """Every byte of the document in turn: what is still the same document holds, and nothing else does."""
    written, path, luck = json.dumps(exported).encode(), tmp_path / "records.json", random.Random(9162)  # noqa: S311
    held = 0
    for place in luck.sample(range(len(written)), 400):
        changed = bytearray(written)
        changed[place] ^= 1 << luck.randrange(8)
        path.write_bytes(bytes(changed))
        if verify_records.main([str(path)]) == 0:
            held += 1
            same = json.loads(bytes(changed))
            told = {key: value for key, value in same.items() if key in verify_records.DOCUMENT}
            assert told == {key: exported[key] for key in told}  # type: ignore[literal-required]
    assert held < 20


def test_a_key_that_stands_twice_is_refused(check: Check, exported: Export) -> None:
    written = json.dumps(exported)
    code, said = check(written[:-1] + ', "entries": []}')
    assert (code, "a key stands twice" in said) == (2, True)


def test_an_archive_behind_a_document_is_not_checked_in_its_place(exported: Export, tmp_path: Path) -> None:
    path = tmp_path / "records.json"
    path.write_text(json.dumps(exported), encoding="utf-8")
    with zipfile.ZipFile(path, "a") as appended:
        appended.writestr("manifest.json", "{}")
    assert zipfile.is_zipfile(path)
    assert verify_records.main([str(path)]) == 2


def test_a_missing_file_is_told_apart(check: Check, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert verify_records.main([str(tmp_path / "nothing.json")]) == 2
    assert "cannot be read" in capsys.readouterr().out


def test_the_program_imports_the_standard_library_only() -> None:
    source = Path(verify_records.__file__).read_text(encoding="utf-8")
    imported = {line.split()[1].split(".")[0] for line in source.splitlines() if re.match(r"\s*(import|from) \w", line)}
    assert imported <= sys.stdlib_module_names

"""Signed heads, stamps and erased names: against RFC 8032's vectors, another library, and the machine's openssl."""

import base64
import datetime as dt
import http.server
import json
import shutil
import subprocess
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone

from haccp.ledger import actions, export, personal, signed_heads, signing_key, stamps
from haccp.ledger.models import Entry, Log, PersonalText, Signature, SignedHead
from haccp.ledger.standalone import verify_records
from haccp.ledger.tasks import sign_heads
from haccp.ledger.verification import verify_log

from .conftest import NOON, Fill

Tamper = Callable[..., None]
# RFC 8032 section 7.1, tests 1 to 3: secret key, public key, message, signature.
RFC_8032 = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46b"
        "d25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c"
        "387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc659"
        "4a7c15e9716ed28dc027beceea1ec40a",
    ),
]


@pytest.fixture(autouse=True)
def _own_key(settings: Any, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path / "data"


@pytest.mark.parametrize(("secret", "public", "message", "signature"), RFC_8032)
def test_ed25519_is_that_of_rfc_8032(settings: Any, secret: str, public: str, message: str, signature: str) -> None:
    settings.LEDGER_KEY = base64.b64encode(bytes.fromhex(secret)).decode()
    said = bytes.fromhex(message)
    assert signing_key.public_hex() == public
    assert signing_key.sign(said).hex() == signature
    assert signing_key.fits(public_key=public, message=said, signature=signature)
    # The stand-alone program's own arithmetic, on the same vectors and on every bit of one signature turned.
    key, made = bytes.fromhex(public), bytes.fromhex(signature)
    assert verify_records.is_signed(key, said, made)
    for bit in range(0, 512, 37):
        turned = bytearray(made)
        turned[bit // 8] ^= 1 << bit % 8
        assert not verify_records.is_signed(key, said, bytes(turned))
        assert not signing_key.fits(public_key=public, message=said, signature=turned.hex())
    assert not verify_records.is_signed(key, said + b"x", made)


def test_the_key_is_made_once_outside_the_database(settings: Any) -> None:
    first = signing_key.public_hex()
    kept = settings.DATA_DIR / "ledger_key"
    assert kept.stat().st_mode & 0o777 == 0o600
    signing_key._load.cache_clear()
    assert signing_key.public_hex() == first


def test_a_head_is_signed_once_for_each_size_and_by_the_hour(log: Log, fill: Fill) -> None:
    fill(5)
    head = signed_heads.sign_head(log_id=log.pk, at=NOON)
    assert signed_heads.holds(head, log_key=log.key)
    assert signed_heads.sign_head(log_id=log.pk, at=NOON + dt.timedelta(hours=1)) == head
    assert sign_heads() == 0
    fill(2)
    assert sign_heads() == 1
    assert [one.size for one in SignedHead.objects.filter(log=log)] == [5, 7]
    assert verify_log(log, kinds={}).holds


def test_a_log_that_was_rewritten_whole_does_not_fit_its_signed_heads(log: Log, fill: Fill, tamper: Tamper) -> None:
    """Somebody who owns the database, and writes every hash anew, still cannot sign."""
    fill(6)
    signed_heads.sign_head(log_id=log.pk, at=NOON)
    tamper(("DELETE FROM ledger_entry", []), ("UPDATE ledger_log SET size = 0, peaks = '[]'", []))
    log.refresh_from_db()
    actions_before = verify_log(log, kinds={}).problem
    assert "a head was signed when it had 6" in actions_before
    fill(7)
    report = verify_log(log, kinds={})
    # The same six readings give the same leaves; so does nothing else.
    assert report.holds
    tamper(("DELETE FROM ledger_entry", []), ("UPDATE ledger_log SET size = 0, peaks = '[]'", []))
    log.refresh_from_db()
    for number in range(7):
        actions.seal(log_id=log.pk, kind="reading", subject=f"r:{number}", body={"x": 1}, actor="7 Ana Ruiz", at=NOON)
    log.refresh_from_db()
    assert "when its head was signed: the log was rewritten" in verify_log(log, kinds={}).problem


@pytest.mark.parametrize("column", ["root_hex", "signature", "public_key", "signed_at", "size"])
def test_a_changed_signed_head_is_named(log: Log, fill: Fill, tamper: Tamper, column: str) -> None:
    fill(4)
    head = signed_heads.sign_head(log_id=log.pk, at=NOON)
    fill(1)
    value: Any = {"signed_at": NOON + dt.timedelta(days=1), "size": 3}.get(column)
    if value is None:
        value = "0" + str(getattr(head, column))[1:] if str(getattr(head, column))[0] != "0" else "1" * 64
    tamper((f"UPDATE ledger_signedhead SET {column} = %s", [value]))
    assert "The signed head of the log upper-dairy" in verify_log(log, kinds={}).problem


def test_an_export_shows_that_the_log_only_grew(log: Log, fill: Fill, tmp_path: Path, capsys: Any) -> None:
    fill(3)
    older = export.export_subjects(log_id=log.pk, subjects=["reading:1"])
    fill(8)
    signed_heads.sign_head(log_id=log.pk, at=NOON)
    fill(2)
    newer = export.export_subjects(log_id=log.pk, subjects=["reading:1", "reading:9"])
    assert [head["size"] for head in newer["heads"]] == [3, 11, 13]
    paths = [tmp_path / "older.json", tmp_path / "newer.json"]
    for path, document in zip(paths, (older, newer), strict=True):
        path.write_text(json.dumps(document))
    key = SignedHead.objects.all()[0].key_words

    def run(document: object, *more: str) -> tuple[int, str]:
        paths[1].write_text(json.dumps(document))
        code = verify_records.main([str(paths[1]), *more])
        return code, capsys.readouterr().out

    code, said = run(newer, "--key", key, "--earlier", str(paths[0]))
    assert code == 0, said
    assert "3 signed heads hold" in said
    assert run(newer, "--key", "0000-0000-0000-0000")[0] == 1
    for field in ("root", "signed_at", "signature", "consistency", "size"):
        document = json.loads(json.dumps(newer))
        head = document["heads"][1]
        old = head[field]
        head[field] = {"size": 10, "consistency": old[:-1] if isinstance(old, list) else 0}.get(field) or (
            ("0" if old[0] != "0" else "1") + old[1:]
        )
        code, said = run(document)
        assert code == 1, (field, said)
        assert "signed head at" in said
    other = json.loads(json.dumps(newer))
    other["names"][next(iter(other["names"]))]["text"] = "8 Eve"
    assert "is not the one that was sealed" in run(other)[1]


def test_after_a_name_is_erased_everything_still_verifies(log: Log, fill: Fill, tmp_path: Path, capsys: Any) -> None:
    fill(3)
    actions.sign(
        log_id=log.pk, signer_id="7", printed_name="Ana Ruiz", meaning="reviewed", statement="Read.",
        content={"day": "2026-04-09"}, method="password", at=NOON,
    )  # fmt: skip
    fill(2)
    before = {entry.index: entry.leaf_hash for entry in Entry.objects.filter(log=log)}

    erased = actions.erase_personal(
        log_id=log.pk,
        texts=["7 Ana Ruiz", "Ana Ruiz"],
        reason="Asked for under Article 17 GDPR.",
        actor="8 Keeper",
        at=timezone.now(),
    )

    assert erased == 2
    log.refresh_from_db()
    report = verify_log(log)
    assert report.holds, report.problem
    assert Entry.objects.filter(log=log).count() == len(before) + 2
    assert before.items() <= {entry.index: entry.leaf_hash for entry in Entry.objects.filter(log=log)}.items()
    everything = [*Entry.objects.values_list(), *Signature.objects.values_list(), *PersonalText.objects.values_list()]
    assert "Ana" not in str(everything)
    assert Signature.objects.get().printed_name == personal.ERASED_WORDS
    document = export.export_subjects(log_id=log.pk, subjects=["reading:1", f"signature:{Signature.objects.get().pk}"])
    path = tmp_path / "records.json"
    path.write_text(json.dumps(document))
    assert verify_records.main([str(path)]) == 0
    assert "1 of those who acted are not named" in capsys.readouterr().out
    # Who acts again under the same name gets another commitment: nothing links the two.
    fill(1)
    assert PersonalText.objects.filter(text="7 Ana Ruiz").count() == 1


@pytest.mark.parametrize(
    ("sql", "sentence"),
    [
        ("UPDATE ledger_personaltext SET text = '8 Eve'", "was changed: it does not hash to its commitment"),
        ("UPDATE ledger_personaltext SET salt = 'zz'", "was changed: it does not hash to its commitment"),
        (
            "UPDATE ledger_personaltext SET text = '', salt = '', erased_at = '2026-04-10 00:00:00+00:00'",
            "never sealed",
        ),
        ("DELETE FROM ledger_personaltext", "is gone, and its erasure was not sealed"),
    ],
)
def test_a_name_changed_or_erased_without_a_seal_is_named(
    log: Log, fill: Fill, tamper: Tamper, sql: str, sentence: str
) -> None:
    fill(2)
    tamper((sql, []))
    assert sentence in verify_log(log).problem


@pytest.fixture
def time_stamp_service(tmp_path: Path, settings: Any) -> Iterator[list[int]]:
    """A TSA of our own on this machine: openssl's `ts -reply` behind an HTTP server. Yields what answers follow."""
    if shutil.which("openssl") is None:
        pytest.skip("needs openssl")
    run = lambda *a: subprocess.run(["openssl", *a], cwd=tmp_path, check=True, capture_output=True)  # noqa: E731
    (tmp_path / "tsa.cnf").write_text(
        "[req]\ndistinguished_name=dn\nprompt=no\n[dn]\nCN=Test clock\n"
        "[ca]\nbasicConstraints=critical,CA:TRUE\nkeyUsage=critical,keyCertSign\n"
        "[leaf]\nbasicConstraints=CA:FALSE\nkeyUsage=critical,digitalSignature\n"
        "extendedKeyUsage=critical,timeStamping\n"
        "[tsa]\ndefault_tsa=one\n[one]\nserial=serial\nsigner_cert=tsa.pem\nsigner_key=tsa.key\n"
        "signer_digest=sha256\ndefault_policy=1.2.3.4.1\ndigests=sha256,sha512\ness_cert_id_alg=sha256\n"
    )
    run("req", "-x509", "-newkey", "rsa:2048", "-nodes", "-keyout", "ca.key", "-out", "ca.pem", "-days", "2",
        "-config", "tsa.cnf", "-extensions", "ca")  # fmt: skip
    run("req", "-newkey", "rsa:2048", "-nodes", "-keyout", "tsa.key", "-out", "tsa.csr", "-config", "tsa.cnf")
    run("x509", "-req", "-in", "tsa.csr", "-CA", "ca.pem", "-CAkey", "ca.key", "-set_serial", "2", "-days", "2",
        "-out", "tsa.pem", "-extfile", "tsa.cnf", "-extensions", "leaf")  # fmt: skip
    faults: list[int] = []

    class Clock(http.server.BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            (tmp_path / "q").write_bytes(self.rfile.read(int(self.headers["Content-Length"])))
            status = faults.pop() if faults else 200
            run("ts", "-reply", "-config", "tsa.cnf", "-section", "one", "-queryfile", "q", "-out", "r")
            self.send_response(status)
            self.end_headers()
            self.wfile.write((tmp_path / "r").read_bytes())

        def log_message(self, *args: object) -> None: ...

    server = http.server.HTTPServer(("127.0.0.1", 0), Clock)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    settings.TIMESTAMP_URL = f"http://127.0.0.1:{server.server_address[1]}/"
    settings.TIMESTAMP_CERTIFICATES = str(tmp_path / "ca.pem")
    yield faults
    server.shutdown()
    server.server_close()


def test_heads_are_stamped_by_a_service_and_a_stamp_of_another_head_is_refused(
    log: Log, fill: Fill, time_stamp_service: list[int], tamper: Tamper
) -> None:
    time_stamp_service.append(503)
    fill(2)
    sign_heads()
    assert SignedHead.objects.get().stamp is None
    fill(1)
    sign_heads()
    heads = list(SignedHead.objects.order_by("size"))
    assert all(stamps.holds(head) for head in heads)
    assert abs(heads[0].stamped_at - timezone.now()) < dt.timedelta(minutes=1)  # type: ignore[operator]
    heads[0].stamp = heads[1].stamp
    assert not stamps.holds(heads[0])

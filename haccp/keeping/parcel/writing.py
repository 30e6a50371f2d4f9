"""One premises into one archive: a row at a time, out of one state of the database, in bounded memory."""

import hashlib
import json
import os
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import IO, Any

from django.core.files.storage import default_storage
from django.db import connection, transaction
from django.db.models import Model
from django.utils import timezone

from haccp.keeping.parcel import belongings, shape
from haccp.keeping.parcel.values import line_of, to_json
from haccp.ledger import canonical, signed_heads, signing_key
from haccp.ledger.models import Log
from haccp.ledger.standalone import verify_records
from haccp.plan.models import PlanRevision
from haccp.plan.queries import revision_in_force
from haccp.premises.models import Premises
from haccp.reports.exports.table import Days
from haccp.reports.exports.tables import TABLES
from haccp.reports.exports.writing import csv_lines
from haccp.reports.layout.plan_alone import plan_pdf
from haccp.reports.models import VisitPack

ROWS_PER_QUERY = 500
COPY_BYTES = 1024 * 1024

Report = Callable[[str, int, int], None]


@dataclass
class _Writer:
    """files: name -> size and SHA-256 of each file written so far."""

    archive: zipfile.ZipFile
    files: dict[str, dict[str, object]] = field(default_factory=dict)

    @contextmanager
    def open(self, name: str) -> Iterator[Callable[[bytes], None]]:
        digest, size = hashlib.sha256(), 0
        with self.archive.open(name, "w", force_zip64=True) as target:

            def write(data: bytes) -> None:
                nonlocal size
                digest.update(data)
                size += len(data)
                target.write(data)

            yield write
        self.files[name] = {"bytes": size, "sha256": digest.hexdigest()}

    def put(self, name: str, content: bytes) -> None:
        with self.open(name) as write:
            write(content)

    def copy(self, name: str, source: IO[bytes]) -> None:
        with self.open(name) as write:
            while data := source.read(COPY_BYTES):
                write(data)


@dataclass(frozen=True, slots=True)
class Written:
    """rows: how many, of all tables; entries: of the log; absent: papers whose files are gone from the disk."""

    rows: int
    entries: int
    size_bytes: int
    sha256: str
    absent: tuple[str, ...]


def write_premises(
    premises: Premises, path: Path, *, made_at: datetime, report: Report = lambda stage, done, total: None
) -> Written:
    """Writes a new archive (shape.py) of everything that belongs to a premises; `path` is there when it is whole.

    The head of the log is signed first, so that the archive ends with one. What is written meanwhile is in it whole
    or not at all: everything is read from one snapshot. report: told how far it has come, in tables.
    Errors: OSError where the disk is full; what was begun is removed then.
    """
    unfinished = path.with_name(path.name + ".unfinished")
    signed_heads.sign_head(log_id=premises.log_id, at=timezone.now())
    try:
        with zipfile.ZipFile(unfinished, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive, _snapshot():
            manifest = _fill(_Writer(archive), premises, made_at, report)
            content = json.dumps(manifest, ensure_ascii=False, indent=1).encode("utf-8")
            archive.writestr(shape.MANIFEST, content)
            archive.writestr(shape.SIGNATURE, signing_key.sign(shape.PURPOSE + content).hex())
        with unfinished.open("rb") as written:
            os.fsync(written.fileno())
            digest = hashlib.file_digest(written, "sha256").hexdigest()
        unfinished.rename(path)
    finally:
        unfinished.unlink(missing_ok=True)
    return Written(
        rows=sum(table["rows"] for table in manifest["tables"].values()),
        entries=manifest["log"]["size"],
        size_bytes=path.stat().st_size,
        sha256=digest,
        absent=tuple(manifest["absent"]),
    )


@contextmanager
def _snapshot() -> Iterator[None]:
    """One state of the database for all that is read, without keeping anybody from writing.

    SQLite's deferred transaction sees one state in WAL mode; Django's own would be immediate and hold the one write
    lock. Inside a transaction there is one state already.
    """
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
    else:
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")
        try:
            yield
        finally:
            with connection.cursor() as cursor:
                cursor.execute("ROLLBACK")


def _fill(writer: _Writer, premises: Premises, made_at: datetime, report: Report) -> dict[str, Any]:
    labels = belongings.tables()
    steps, people, tables = len(labels) + 2, dict[str, None](), {}
    # People last: the rows before say who is named.
    for number, label in enumerate(sorted(labels, key=lambda one: one == "premises.User")):
        report(f"Writing {label}", number, steps)
        tables[label] = _write_table(writer, label, premises, people)
    report("Writing tables and papers", len(labels), steps)
    absent = _write_papers(writer, premises, made_at)
    _write_csv(writer, premises, made_at)
    writer.put(shape.VERIFIER, Path(verify_records.__file__).read_bytes())
    log = Log.objects.get(pk=premises.log_id)
    return {
        "format": shape.FORMAT,
        "premises": {"id": str(premises.pk), "name": premises.name},
        "made_at": canonical.to_json(made_at),
        "log": {"key": log.key, "size": log.size, "root": log.frontier.root().hex()},
        "public_key": signing_key.public_hex(),
        "tables": tables,
        "stays": belongings.STAYS,
        "absent": absent,
        "files": writer.files,
    }


def _write_table(writer: _Writer, label: str, premises: Premises, people: dict[str, None]) -> dict[str, Any]:
    model, attached = belongings.model_of(label), shape.ATTACHED.get(label)
    blank = belongings.BLANKED.get(label, frozenset())
    columns = [column for column in belongings.columns_of(model) if column.attname not in blank]
    plain = [column for column in columns if attached is None or column.attname != attached.column]
    persons, count = belongings.names_people(model), 0
    rows = belongings.rows_of(label, premises, people)
    with writer.open(shape.rows_file(label)) as write:
        for row in rows.defer(*([attached.column] if attached else [])).iterator(chunk_size=ROWS_PER_QUERY):
            write(line_of({column.attname: to_json(column, getattr(row, column.attname)) for column in plain}))
            people.update((str(getattr(row, name)), None) for name in persons if getattr(row, name) is not None)
            count += 1
    if attached is not None:
        for key in rows.values_list("pk", flat=True).iterator(chunk_size=ROWS_PER_QUERY):
            _write_attached(writer, label, model, attached, key)
    return {"rows": count, "columns": [column.attname for column in columns]}


def attached_file(label: str, key: object, attached: shape.Attached) -> str:
    return f"attachments/{label.lower()}/{key}{attached.ending}"


def _write_attached(writer: _Writer, label: str, model: type[Model], attached: shape.Attached, key: object) -> None:
    """One at a time, so that no more than one file is in memory."""
    kept = bytes(model._base_manager.values_list(attached.column, flat=True).get(pk=key))
    writer.put(attached_file(label, key, attached), zlib.decompress(kept) if attached.deflated else kept)


def _write_papers(writer: _Writer, premises: Premises, made_at: datetime) -> list[str]:
    """The visit packs that were made, and the plan in force. Returns the packs whose files are gone."""
    absent = []
    for pack in VisitPack.objects.for_premises(premises).filter(finished_at__isnull=False).order_by("pk").iterator():
        if not pack.file.name or not default_storage.exists(pack.file.name):
            absent.append(str(pack.pk))
            continue
        with default_storage.open(pack.file.name, "rb") as source:
            writer.copy(f"papers/{pack.file.name}", source)
    revision: PlanRevision | None = revision_in_force(premises, made_at)
    if revision is not None:
        content = plan_pdf(revision, "all", until=None, made_at=made_at)
        writer.put(f"papers/plan-revision-{revision.number}.pdf", content)
    return absent


def _write_csv(writer: _Writer, premises: Premises, made_at: datetime) -> None:
    opened = Log.objects.values_list("opened_at", flat=True).get(pk=premises.log_id)
    days = Days.of(premises, premises.local_date(min(opened, made_at)), premises.local_date(made_at))
    for table in TABLES.values():
        with writer.open(f"tables/{table.name}.csv") as write:
            for line in csv_lines(table, premises, days):
                write(line.encode("utf-8"))

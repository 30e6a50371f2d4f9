"""The sealed entries of all that a pack shows, with their proofs, and the numbers that the pages call them by."""

import json
import tempfile
import weakref
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import IO

from haccp.ledger.export import ExportedEntry, StreamedExport, stream_subjects
from haccp.ledger.head import Head, fingerprint
from haccp.ledger.models import SignedHead
from haccp.reports.gather.scope import PackScope
from haccp.reports.gather.subjects import subjects_of

# Small documents never touch the disk.
IN_MEMORY_BYTES = 1024 * 1024
BYTES_PER_STEP = 64 * 1024


@dataclass(frozen=True, slots=True, weakref_slot=True)
class Evidence:
    """records_deflated: the attachment, JSON packed by zlib, in a file that is gone with this; records_size: its
    bytes when unpacked. entry_of: subject -> number of its first entry in the log.
    """

    records_deflated: IO[bytes]
    records_size: int
    entry_of: dict[str, int]
    entry_count: int
    log_key: str
    fingerprint: str
    root_hex: str
    key_words: str

    def ref(self, subject: str) -> str:
        """How the pages call it; the id's beginning where nothing was sealed."""
        number = self.entry_of.get(subject)
        return f"#{number}" if number is not None else subject.partition(":")[2][:8]


def evidence_of(scope: PackScope) -> Evidence:
    """One query or two for each few hundred entries, which are all that stands in memory at once."""
    export = stream_subjects(log_id=scope.period.log_id, subjects=subjects_of(scope))
    entry_of: dict[str, int] = {}
    count = 0

    def noted() -> Iterator[ExportedEntry]:
        nonlocal count
        for entry in export.entries:
            entry_of.setdefault(entry["subject"], entry["index"])
            count += 1
            yield entry

    packed = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY_BYTES)  # noqa: SIM115  (closed with its Evidence)
    size = _pack(_json_of(export, noted()), packed)
    evidence = Evidence(
        records_deflated=packed,
        records_size=size,
        entry_of=entry_of,
        entry_count=count,
        log_key=export.log,
        fingerprint=fingerprint(Head(export.size, export.root)),
        root_hex=export.root,
        key_words=SignedHead.objects.get(log_id=scope.period.log_id, size=export.size).key_words,
    )
    weakref.finalize(evidence, packed.close)
    return evidence


def _json_of(export: StreamedExport, entries: Iterator[ExportedEntry]) -> Iterator[str]:
    yield f'{{"format":{_json(export.format)},"log":{_json(export.log)},"size":{export.size}'
    yield f',"root":{_json(export.root)},"entries":['
    for place, entry in enumerate(entries):
        yield "," + _json(entry) if place else _json(entry)
    yield f'],"heads":{_json(export.heads)},"names":{_json(export.names())}}}'


def _pack(texts: Iterator[str], file: IO[bytes]) -> int:
    """Writes them packed; returns the bytes before."""
    packer, size, waiting, held = zlib.compressobj(6), 0, [], 0
    for text in texts:
        data = text.encode()
        size += len(data)
        held += len(data)
        waiting.append(data)
        if held >= BYTES_PER_STEP:
            file.write(packer.compress(b"".join(waiting)))
            waiting, held = [], 0
    file.write(packer.compress(b"".join(waiting)))
    file.write(packer.flush())
    return size


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))

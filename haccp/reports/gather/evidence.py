"""The sealed entries of all that a pack shows, with their proofs, and the numbers that the pages call them by."""

import json
import zlib
from dataclasses import dataclass

from haccp.ledger.export import Export, export_subjects
from haccp.ledger.head import Head, fingerprint
from haccp.ledger.models import SignedHead
from haccp.reports.gather.scope import PackScope
from haccp.reports.gather.subjects import subjects_of


@dataclass(frozen=True, slots=True)
class Evidence:
    """records_deflated: the attachment, JSON packed by zlib; records_size: its bytes when unpacked.

    entry_of: subject -> number of its first entry in the log.
    """

    records_deflated: bytes
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
    """One query for each few hundred entries."""
    export = export_subjects(log_id=scope.period.log_id, subjects=subjects_of(scope))
    entry_of: dict[str, int] = {}
    for entry in export["entries"]:
        entry_of.setdefault(entry["subject"], entry["index"])
    count = len(export["entries"])
    packed, size = _packed(export)
    return Evidence(
        records_deflated=packed,
        records_size=size,
        entry_of=entry_of,
        entry_count=count,
        log_key=export["log"],
        fingerprint=fingerprint(Head(export["size"], export["root"])),
        root_hex=export["root"],
        key_words=SignedHead.objects.get(log_id=scope.period.log_id, size=export["size"]).key_words,
    )


def _packed(export: Export) -> tuple[bytes, int]:
    """The export as JSON, packed entry by entry: a season's proofs are a hundred megabytes, and never stand in memory
    a second time. Empties the export's entries."""
    packer, parts, size = zlib.compressobj(6), [], 0

    def write(text: str) -> None:
        nonlocal size
        data = text.encode()
        size += len(data)
        parts.append(packer.compress(data))

    for place, (name, value) in enumerate(export.items()):
        write(f"{',' if place else '{'}{_json(name)}:")
        if name != "entries":
            write(_json(value))
            continue
        entries = export["entries"]
        entries.reverse()
        write("[")
        while entries:
            last = entries.pop()
            write(_json(last) + ("," if entries else ""))
        write("]")
    write("}")
    return b"".join([*parts, packer.flush()]), size


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))

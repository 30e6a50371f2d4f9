"""The sealed entries of all that a pack shows, with their proofs, and the numbers that the pages call them by."""

import json
from dataclasses import dataclass

from haccp.ledger.export import export_subjects
from haccp.ledger.head import Head, fingerprint
from haccp.ledger.models import SignedHead
from haccp.reports.gather.scope import PackScope
from haccp.reports.gather.subjects import subjects_of


@dataclass(frozen=True, slots=True)
class Evidence:
    """records_json: the attachment. entry_of: subject -> number of its first entry in the log."""

    records_json: bytes
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
    return Evidence(
        records_json=json.dumps(export, ensure_ascii=False, separators=(",", ":")).encode(),
        entry_of=entry_of,
        entry_count=len(export["entries"]),
        log_key=export["log"],
        fingerprint=fingerprint(Head(export["size"], export["root"])),
        root_hex=export["root"],
        key_words=SignedHead.objects.get(log_id=scope.period.log_id, size=export["size"]).key_words,
    )

"""The sealed entries of all that a pack shows, with their proofs, and the numbers that the pages call them by."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from batches.laboratory.models import TestResult
from batches.making.models import Brine, BrineChange, BrineUse
from batches.release.models import Release
from haccp.checks.models import DaySignature, MissedReason, Record
from haccp.deviations.models import Closure, CorrectiveStep
from haccp.ledger.export import export_subjects
from haccp.ledger.head import Head, fingerprint
from haccp.ledger.models import SignedHead
from haccp.lots.models import Hold, HoldLift, LotEvent, LotLink
from haccp.plan.models import PlanRevision
from haccp.reports.gather.scope import PackScope, in_groups
from haccp.reports.gather.traded import trade_subjects
from haccp.reports.gather.verifying import calibrations_in, samples_in


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
    export = export_subjects(log_id=scope.period.log_id, subjects=_subjects(scope))
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


def _subjects(scope: PackScope) -> Iterator[str]:
    yield from (f"record:{one}" for one in scope.record_ids)
    yield from (f"missed:{one}" for one in scope.missed_ids)
    yield from (f"deviation:{one}" for one in scope.deviation_ids)
    for group in in_groups(scope.record_ids):
        traces = Record.objects.filter(id__in=group, trace__isnull=False).values_list("trace", flat=True)
        yield from (f"trace:{one}" for one in traces)
    for group in in_groups(scope.missed_ids):
        yield from _named("missed_reason", MissedReason.objects.filter(missed__in=group).values_list("id", flat=True))
    for group in in_groups(scope.deviation_ids):
        yield from _named("step", CorrectiveStep.objects.filter(deviation__in=group).values_list("id", flat=True))
        signed = Closure.objects.filter(deviation__in=group).values_list("signature", flat=True)
        yield from _named("signature", signed)
    for group in in_groups(scope.day_signature_ids):
        days = DaySignature.objects.filter(id__in=group).values_list("signature", flat=True)
        yield from _named("signature", days)
    for group in in_groups(scope.batch_ids):
        yield from _named("lot", group)
        yield from _named("lot_event", LotEvent.every.filter(lot__in=group).values_list("id", flat=True))
        yield from _named("lot_link", LotLink.objects.filter(child__in=group).values_list("id", flat=True))
        yield from _named("brine_use", BrineUse.objects.filter(make__in=group).values_list("id", flat=True))
        yield from _named("hold", Hold.objects.filter(lot__in=group).values_list("id", flat=True))
        yield from _named("hold_lift", HoldLift.objects.filter(hold__lot__in=group).values_list("id", flat=True))
    yield from _named("lot", scope.milk_ids)
    for group in in_groups(scope.milk_ids):
        yield from _named("brine", Brine.objects.filter(lot__in=group).values_list("lot", flat=True))
        yield from _named("brine_change", BrineChange.objects.filter(brine__in=group).values_list("id", flat=True))
    for group in in_groups(scope.batch_ids):
        for release, signature in Release.objects.filter(lot__in=group).values_list("id", "signature"):
            yield f"release:{release}"
            yield f"signature:{signature}"
    yield from _named("calibration", calibrations_in(scope).values_list("id", flat=True))
    samples = samples_in(scope)
    yield from _named("sample", samples.values_list("id", flat=True))
    results = TestResult.objects.filter(test__sample__in=samples.values("id")).values_list("id", flat=True)
    yield from _named("sample_result", results)
    yield from trade_subjects(scope)
    approvals = PlanRevision.objects.filter(id__in=scope.revision_ids).values_list("approval", flat=True)
    yield from _named("signature", approvals)


def _named(kind: str, ids: Iterable[object]) -> Iterator[str]:
    return (f"{kind}:{one}" for one in ids)

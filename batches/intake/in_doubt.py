"""What was found of milk with an instrument that was found out later."""

from collections.abc import Iterable
from datetime import datetime

from batches.intake.models import MilkFinding
from haccp.calibration.queries import doubted
from haccp.calibration.resting import Resting
from haccp.premises.models import Instrument

MILK = "milk finding"


def findings_read_with(instrument: Instrument, since: datetime | None, until: datetime) -> Iterable[Resting]:
    """Registered in haccp.calibration.resting."""
    found = MilkFinding.objects.filter(instrument=instrument, observed_at__lte=until).select_related("lot")
    if since is not None:
        found = found.filter(observed_at__gt=since)
    for one in found:
        words = f"{one.get_kind_display()} {one.typed_text} {one.typed_unit}".strip() + f" of {one.lot.code}"
        yield Resting(one.pk, words, one.kind, one.observed_at, lot=one.lot)


def with_doubts(findings: Iterable[MilkFinding]) -> list[MilkFinding]:
    """The same, each with why it does not count now, where its instrument was found out. One query."""
    findings = list(findings)
    doubts = doubted(one.pk for one in findings)
    for one in findings:
        if (doubt := doubts.get(one.pk)) and not one.unfit:
            one.unfit = doubt.reason
    return findings

"""The day book: all that a day recorded, missed and amended, and whether it can be signed.

What it shows is plain data, so that the page, the PDF and the signature hold the very same.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from uuid import UUID

from haccp.checks.doubts import say_doubts
from haccp.checks.models import DaySignature, DueCheck, MissedCheck, PlanningMark, Record
from haccp.checks.queries import day_bounds, records_between
from haccp.ledger import signed_heads
from haccp.ledger.canonical import sha256_of
from haccp.ledger.models import SignedHead
from haccp.ledger.queries import fingerprint, head
from haccp.lots.models import LotEvent
from haccp.premises.models import Premises

JsonDict = dict[str, object]


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the day that a room above adds: title, and one dict of plain values per line."""

    title: str
    lines: tuple[JsonDict, ...]


SectionProvider = Callable[[Premises, datetime, datetime], Section]
_providers: list[SectionProvider] = []


def register_section(provider: SectionProvider) -> None:
    """Called from an AppConfig.ready(); calling twice changes nothing."""
    if provider not in _providers:
        _providers.append(provider)


@dataclass(frozen=True, slots=True)
class DayBook:
    """unanswered: one sentence for each thing that must be answered before the day can be signed."""

    premises: Premises
    day: date
    records: tuple[Record, ...]
    late_entries: tuple[Record, ...]
    missed: tuple[MissedCheck, ...]
    still_due: tuple[DueCheck, ...]
    events: tuple[LotEvent, ...]
    sections: tuple[Section, ...]
    signatures: tuple[DaySignature, ...]
    fingerprint: str
    signed_head: SignedHead | None
    content: JsonDict = field(repr=False)
    content_sha256: str
    is_planned: bool

    @property
    def unanswered(self) -> tuple[str, ...]:
        open_checks = [f"{_about(due, self.premises)} has not been done." for due in self.still_due]
        reasons = [
            f"{_about(one.due, self.premises)} was missed and has no reason."
            for one in self.missed
            if not _has_reason(one)
        ]
        unknown = () if self.is_planned else ("What was due on this day is not known: the schedule has not run yet.",)
        return (*unknown, *open_checks, *reasons)

    @property
    def signed_off(self) -> DaySignature | None:
        return self._current(DaySignature.Meaning.SIGNED_OFF)

    @property
    def reviewed(self) -> DaySignature | None:
        return self._current(DaySignature.Meaning.REVIEWED)

    @property
    def changed_since_signed(self) -> bool:
        """A late entry, an amendment or a reason came after a signature."""
        return bool(self.signatures) and not (self.signed_off or self.reviewed)

    def _current(self, meaning: str) -> DaySignature | None:
        for signature in self.signatures:
            if signature.meaning == meaning and signature.content_sha256 == self.content_sha256:
                return signature
        return None


def day_book(premises: Premises, day: date) -> DayBook:
    """Everything of one local day, in a constant number of queries (plus those of registered sections)."""
    start, end = day_bounds(premises, day)
    records = tuple(say_doubts(records_between(premises, start, end)))
    late_entries = tuple(
        Record.objects.for_premises(premises)
        .filter(recorded_at__gte=start, recorded_at__lt=end)
        .exclude(observed_at__gte=start, observed_at__lt=end)
        .with_details()
    )
    due = DueCheck.objects.for_premises(premises).filter(due_at__gte=start, due_at__lt=end)
    still_due = tuple(due.unsettled().select_related("check_due", "lot").order_by("due_at", "pk"))
    missed = tuple(
        MissedCheck.objects.filter(due__premises=premises, due__due_at__gte=start, due__due_at__lt=end)
        .select_related("due__check_due__control_point", "due__lot", "reason", "reason__given_by")
        .order_by("missed_at", "pk")
    )
    events = tuple(
        LotEvent.objects.filter(lot__premises=premises, occurred_at__gte=start, occurred_at__lt=end)
        .select_related("lot", "place", "recorded_by")
        .order_by("occurred_at", "recorded_at", "pk")
    )
    sections = tuple(provider(premises, start, end) for provider in _providers)
    content = _content(premises, day, records, missed, events, sections)
    return DayBook(
        premises=premises,
        day=day,
        records=records,
        late_entries=late_entries,
        missed=missed,
        still_due=still_due,
        events=events,
        sections=sections,
        signatures=tuple(
            DaySignature.objects.filter(premises=premises, day=day)
            .select_related("signature", "signed_by")
            .order_by("signature__signed_at")
        ),
        fingerprint=fingerprint(head(premises.log_id)),
        signed_head=signed_heads.latest(premises.log_id),
        content=content,
        content_sha256=sha256_of(content),
        is_planned=not PlanningMark.objects.filter(premises=premises, planned_until__lt=end).exists(),
    )


def _about(due: DueCheck, premises: Premises) -> str:
    local = due.due_at.astimezone(premises.zone)
    return f"{due.check_due.name}{f' of {due.lot.code}' if due.lot else ''}, due at {local:%H:%M},"


def _has_reason(missed: MissedCheck) -> bool:
    return hasattr(missed, "reason")


def _content(
    premises: Premises,
    day: date,
    records: Sequence[Record],
    missed: Sequence[MissedCheck],
    events: Sequence[LotEvent],
    sections: Sequence[Section],
) -> JsonDict:
    """What a signature of this day attests."""
    amended_by = dict(Record.objects.filter(amends__in=[one.pk for one in records]).values_list("amends", "pk"))
    return {
        "premises": premises.name,
        "day": day,
        "records": [_record_line(record, amended_by.get(record.pk)) for record in records],
        "missed": [
            {
                "id": one.id,
                "check": one.due.check_due.name,
                "due": one.due.due_at,
                "reason": one.reason.text if _has_reason(one) else "",
            }
            for one in missed
        ],
        "events": [{"lot": e.lot.code, "event": e.kind, "at": e.occurred_at} for e in events],
        "sections": [{"title": section.title, "lines": list(section.lines)} for section in sections],
    }


def _record_line(record: Record, amended_by: UUID | None) -> JsonDict:
    return {
        "id": record.id,
        "check": record.check_done.name,
        "lot": record.lot.code if record.lot else "",
        "observed": record.observed_at,
        "by": record.recorded_by_id,
        "readings": [f"{r.typed_text or r.choice} {r.typed_unit}".strip() for r in record.readings.all()],
        "rulings": [one.ruling for one in sorted(record.rulings.all(), key=lambda one: str(one.limit_id))],
        "amends": record.amends_id,
        "amend_reason": record.amend_reason,
        # By which record: it may speak of another day, and stands on that one.
        "amended_by": amended_by,
    }

"""Reads about deviations, and the guide that leads a tired person through one."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import Case, Count, QuerySet, Value, When

from haccp.checks.daybook import JsonDict, Section
from haccp.checks.other_work import Work
from haccp.deviations.models import CorrectiveStep, Deviation, DeviationQuerySet, ImplicatedLot, LotEnd, Task
from haccp.ledger.canonical import sha256_of
from haccp.lots.models import Hold
from haccp.plan.reviewing import Occasion
from haccp.premises.models import Premises
from haccp.premises.scope import Scope

Kind = CorrectiveStep.Kind
Disposition = CorrectiveStep.Disposition
# These let the lot go on; under the others it stays on hold for good, so that it can never be released.
LETS_GO_ON = (Disposition.RELEASE, Disposition.REWORK, Disposition.HEAT_TREATMENT, Disposition.NOT_TOUCHED)
# Under these the lot comes to an end, which is recorded when it has happened.
ENDS_LOT = (Disposition.ANIMAL_FEED, Disposition.DESTROY, Disposition.RETURN)
WAYS = list(ImplicatedLot.Way.values)
# What makes a trend of deviations: common practice, no source.
TREND = 3
MANY_UNDECIDED = 5  # from here on one sentence names them all
TASKS_AHEAD = timedelta(days=7)
TREND_WITHIN = timedelta(days=90)
MOST_TRENDS = 20
MISSING_WORDS = {
    Kind.CAUSE: "Record the cause.",
    Kind.CORRECTION: "Record how control was regained.",
    Kind.PREVENTION: "Record what prevents a recurrence.",
    Kind.REASSESSMENT: "Record whether the plan foresaw this and has to change.",
}


@dataclass(frozen=True, slots=True)
class Guide:
    """What stands, what is missing, and the plain data that a closing signature attests."""

    implicated: tuple[ImplicatedLot, ...]
    steps: tuple[CorrectiveStep, ...]
    step_of: dict[str, CorrectiveStep]  # the last one of each kind but disposition
    disposition_of: dict[UUID, CorrectiveStep]  # lot id -> the last one
    missing: tuple[str, ...]
    content: dict[str, object] = field(repr=False)
    content_sha256: str

    @property
    def all_disposed(self) -> bool:
        """Every implicated lot has a disposition that is final."""
        return all(
            one.lot_id in self.disposition_of
            and self.disposition_of[one.lot_id].disposition != CorrectiveStep.Disposition.KEEP_ON_HOLD
            for one in self.implicated
        )


def guide(deviation: Deviation) -> Guide:
    implicated = tuple(deviation.implicated.select_related("lot", "lot__product"))
    steps = tuple(deviation.steps.select_related("recorded_by", "lot").order_by("recorded_at", "id"))
    step_of = {step.kind: step for step in steps if step.kind != Kind.DISPOSITION}
    disposition_of = {step.lot_id: step for step in steps if step.lot_id is not None}
    content = _content(deviation, implicated, steps)
    return Guide(
        implicated=implicated,
        steps=steps,
        step_of=step_of,
        disposition_of=disposition_of,
        missing=tuple(_missing(implicated, step_of, disposition_of) + _open_tasks(deviation)),
        content=content,
        content_sha256=sha256_of(content),
    )


def ways(implicated: Sequence[ImplicatedLot]) -> list[tuple[str, list[ImplicatedLot]]]:
    """The implicated lots by the sentence that says why, those touched themselves first."""
    found: dict[str, list[ImplicatedLot]] = {}
    for one in sorted(implicated, key=lambda one: WAYS.index(one.way)):
        found.setdefault(one.why, []).append(one)
    return list(found.items())


def undecided(led: Guide) -> list[tuple[str, list[ImplicatedLot]]]:
    """Ways by which more than one lot is implicated that nothing is decided of yet."""
    left = ways([one for one in led.implicated if one.lot_id not in led.disposition_of])
    return [(why, lots) for why, lots in left if len(lots) > 1]


def disposition_words(step: CorrectiveStep) -> str:
    """What was decided of a lot, in the words of the choice."""
    return str(Disposition(step.disposition).label)


def deviations_of(premises: Premises) -> DeviationQuerySet:
    return Deviation.objects.for_premises(premises).select_related("control_point", "closure")


def open_count(premises: Premises) -> int:
    return Deviation.objects.for_premises(premises).open().count()


def trends(premises: Premises, since: date, until: datetime) -> list[Occasion]:
    """For the review of the plan: control points at which TREND deviations came within TREND_WITHIN of one another."""
    happened: dict[str, list[date]] = {}
    words: dict[str, str] = {}
    rows = Deviation.objects.for_premises(premises).filter(occurred_at__lte=until).order_by("occurred_at")
    for at, code, name in rows.values_list("occurred_at", "control_point__code", "control_point__name"):
        day = premises.local_date(at)
        if day > since:
            happened.setdefault(code, []).append(day)
            words[code] = f"{code} {name}"
    return [
        Occasion(last, f"trend of deviations: {TREND} at {words[code]} in {(last - first).days + 1} days")
        for code, days in happened.items()
        for first, last in zip(days, days[TREND - 1 :], strict=False)
        if last - first < TREND_WITHIN
    ][:MOST_TRENDS]


def day_section(premises: Premises, start: datetime, end: datetime) -> Section:
    """For the day book: deviations opened or closed that day."""
    opened = deviations_of(premises).filter(opened_at__gte=start, opened_at__lt=end).order_by("opened_at", "pk")
    closed = deviations_of(premises).filter(closure__closed_at__gte=start, closure__closed_at__lt=end)
    closed = closed.order_by("closure__closed_at", "pk")
    lines = [_day_line(one, "opened") for one in opened] + [_day_line(one, "closed") for one in closed]
    return Section("Deviations", tuple(lines))


def _day_line(deviation: Deviation, what: str) -> JsonDict:
    return {"id": str(deviation.id), "reference": deviation.reference, "what": what, "text": deviation.summary}


def _open_tasks(deviation: Deviation) -> list[str]:
    still = deviation.tasks.filter(kind=Task.Kind.ACTION, done__isnull=True).select_related("owner")
    return [f"{task.title} ({task.owner.name}) is still to be done." for task in still]


def _missing(
    implicated: tuple[ImplicatedLot, ...],
    step_of: dict[str, CorrectiveStep],
    disposition_of: dict[UUID, CorrectiveStep],
) -> list[str]:
    missing = [sentence for kind, sentence in MISSING_WORDS.items() if kind not in step_of]
    undecided = [one.lot.code for one in implicated if one.lot_id not in disposition_of]
    if len(undecided) > MANY_UNDECIDED:
        missing.append(f"Decide what happens to {len(undecided)} lots: {', '.join(undecided)}.")
    for one in implicated:
        step = disposition_of.get(one.lot_id)
        if step is None:
            if len(undecided) <= MANY_UNDECIDED:
                missing.append(f"Decide what happens to {one.lot.code}.")
        elif step.disposition == CorrectiveStep.Disposition.KEEP_ON_HOLD:
            missing.append(f"{one.lot.code} is kept on hold until tested; decide when the result is there.")
    return missing


def _content(
    deviation: Deviation, implicated: tuple[ImplicatedLot, ...], steps: tuple[CorrectiveStep, ...]
) -> dict[str, object]:
    return {
        "deviation": deviation.reference,
        "summary": deviation.summary,
        "occurred": deviation.occurred_at,
        "missed_again": list(deviation.missed_again.values_list("missed__missed_at", flat=True)),
        "implicated": [{"lot": one.lot.code, "why": one.why} for one in implicated],
        "steps": [
            {
                "kind": step.kind,
                "text": step.text,
                "lot": step.lot.code if step.lot else "",
                "disposition": step.disposition,
                "by": step.recorded_by.name,
                "at": step.recorded_at,
            }
            for step in steps
        ],
    }


def deviations_listed(premises: Premises, state: str = "") -> QuerySet[Deviation]:
    """Open ones first, each part newest first; with is_open and lot_count. state: "open", "closed" or "" for all."""
    found = deviations_of(premises)
    if state:
        found = found.open() if state == "open" else found.closed()
    return found.annotate(
        is_open=Case(When(closure__isnull=True, then=Value(True)), default=Value(False)),
        lot_count=Count("implicated"),
    ).order_by("-is_open", "-opened_at", "-year", "-number")


def deviation_in_full(premises: Premises, deviation_id: UUID) -> Deviation | None:
    """With what its page shows: the ruling and its record, or the missed check; the closure and its signature."""
    return (
        Deviation.objects.for_premises(premises)
        .filter(pk=deviation_id)
        .select_related(
            "control_point",
            "premises",
            "opened_by",
            "ruling__record__check_done",
            "ruling__record__recorded_by",
            "ruling__record__trace__premises",
            "ruling__limit",
            "missed__due__check_due",
            "missed__due__lot",
            "missed__reason",
            "closure__signature",
            "closure__closed_by",
        )
        .prefetch_related("missed_again__missed")
        .first()
    )


def holds_placed_by(deviation: Deviation) -> list[Hold]:
    """Every hold of this deviation, standing or lifted."""
    return list(
        Hold.objects.filter(cause=deviation.hold_cause)
        .select_related("lot", "lift", "lift__lifted_by")
        .order_by("lot__code")
    )


def lifted_words(holds: Sequence[Hold]) -> str:
    """Which holds were lifted and which stay, in a sentence or two."""
    lifted = [hold.lot.code for hold in holds if hasattr(hold, "lift")]
    stay = [hold.lot.code for hold in holds if not hasattr(hold, "lift")]
    parts = [f"Its hold was lifted from {', '.join(lifted)}."] if lifted else []
    parts += [f"{', '.join(stay)} stays on hold for good, as decided."] if stay else []
    return " ".join(parts)


def tasks_to_do(scope: Scope, now: datetime) -> list[Work]:
    """For the first page: tasks of deviations that are not done, from a week before they are due."""
    ahead = scope.premises.local_date(now) + TASKS_AHEAD
    still = Task.objects.filter(deviation__premises=scope.premises, done__isnull=True, due_on__lte=ahead)
    return [
        Work(
            task.due_on,
            f"{task.deviation.reference}: {task.title}",
            "deviations:detail",
            task.deviation_id,
            task.owner.name,
        )
        for task in still.select_related("deviation", "owner")
    ]


def ends_to_record(deviation: Deviation) -> list[CorrectiveStep]:
    """Lots that a closed deviation decided to end, and of which nobody has recorded that it happened."""
    led = guide(deviation)
    ended = set(LotEnd.objects.filter(lot__in=led.disposition_of).values_list("lot_id", flat=True))
    return [step for lot_id, step in led.disposition_of.items() if step.disposition in ENDS_LOT and lot_id not in ended]

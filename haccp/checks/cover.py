"""Who does a check on a day, after absences and hand-overs, and which critical checks nobody covers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import Exists, OuterRef

from haccp.checks.models import Absence, Keeper
from haccp.plan.models import Check
from haccp.plan.queries import revision_in_force
from haccp.premises.models import Membership, Premises
from haccp.premises.roles import Right, may

LOOKS_AHEAD_DAYS = 7


@dataclass(frozen=True, slots=True)
class Doer:
    """Who does a check that day: person; instead_of: whose check it is, where somebody stands in."""

    person: Membership | None
    instead_of: Membership | None = None
    why_nobody: str = ""


@dataclass(frozen=True, slots=True)
class Uncovered:
    check: Check
    first: date
    days: int
    why: str

    @property
    def sentence(self) -> str:
        when = f"on {self.first:%d %b}" if self.days == 1 else f"for {self.days} days from {self.first:%d %b}"
        return f"{self.check.control_point.code} {self.check.name} is covered by nobody {when}: {self.why}"


@dataclass(frozen=True, slots=True)
class Cover:
    """Everybody here, their absences, and whose each check is; read once, asked for any day."""

    people: Mapping[UUID, Membership]
    absences: Mapping[UUID, Sequence[tuple[date, date, UUID | None]]]
    keepers: Mapping[UUID, UUID | None]

    def is_away(self, person: UUID, day: date) -> bool:
        return any(first <= day <= last for first, last, _ in self.absences.get(person, ()))

    def doer(self, check: Check, day: date) -> Doer:
        """A check that is nobody's own is done by whoever is there."""
        keeper = self.keepers.get(UUID(check.key))
        if keeper is None:
            there = [one for one in self.people.values() if _can_record(one) and not self.is_away(one.pk, day)]
            return Doer(None) if there else Doer(None, why_nobody="everybody who records is away.")
        whose = self.people.get(keeper)
        if whose is None:
            return Doer(None, why_nobody="whoever kept it has left; choose somebody else.")
        return self._stand_in(whose, day)

    def _stand_in(self, whose: Membership, day: date) -> Doer:
        person, seen = whose, {whose.pk}
        while self.is_away(person.pk, day):
            following = next(
                (stand_in for first, last, stand_in in self.absences[person.pk] if first <= day <= last), None
            )
            if following is None:
                return Doer(None, whose, f"{person.user.name} is away and nobody stands in.")
            if following in seen:
                return Doer(None, whose, f"{person.user.name} and {whose.user.name} stand in for each other.")
            found = self.people.get(following)
            if found is None or not _can_record(found):
                return Doer(None, whose, f"{person.user.name} is away, and whoever stands in may not record here.")
            person = found
            seen.add(following)
        if not _can_record(person):
            return Doer(None, whose, f"{person.user.name} may not record here any more.")
        return Doer(person, whose if person.pk != whose.pk else None)


def cover_of(premises: Premises, *, as_of: datetime | None = None) -> Cover:
    """As it was said by a moment, or by now. Three queries."""
    people = {
        one.pk: one for one in Membership.objects.filter(premises=premises, left_at__isnull=True).select_related("user")
    }
    absences: dict[UUID, list[tuple[date, date, UUID | None]]] = {}
    rows = Absence.objects.filter(membership__premises=premises).select_related("back").order_by("said_at")
    said = Keeper.objects.filter(premises=premises).order_by("said_at")
    if as_of is not None:
        rows, said = rows.filter(said_at__lte=as_of), said.filter(said_at__lte=as_of)
    for row in rows:
        is_back = hasattr(row, "back") and (as_of is None or row.back.said_at <= as_of)
        last = row.back.on - timedelta(days=1) if is_back else row.last
        if last >= row.first:
            # What was said last comes first: it decides who stands in.
            absences.setdefault(row.membership_id, []).insert(0, (row.first, last, row.stand_in_id))
    return Cover(people, absences, dict(said.values_list("check_key", "membership_id")))


def uncovered(premises: Premises, now: datetime, days: int = LOOKS_AHEAD_DAYS) -> list[Uncovered]:
    """Checks of critical control points of the plan in force that nobody covers on some of the next days."""
    today = premises.local_date(now)
    if not _anything_said(premises, today):
        return []
    revision = revision_in_force(premises, now)
    if revision is None:
        return []
    cover = cover_of(premises)
    found = []
    checks = revision.checks.filter(control_point__kind="ccp").exclude(cadence__kind="by_hand")
    for check in checks.select_related("control_point").order_by("control_point__code", "name"):
        bare = [
            (day, doer.why_nobody)
            for day in (today + timedelta(days=n) for n in range(days))
            if (doer := cover.doer(check, day)).why_nobody
        ]
        if bare:
            found.append(Uncovered(check, bare[0][0], len(bare), bare[0][1]))
    return found


def _anything_said(premises: Premises, today: date) -> bool:
    """Where nobody is away and no check is anybody's own, whoever is there does them: one query says so."""
    away = Absence.objects.filter(membership__premises=OuterRef("pk"), last__gte=today)
    kept = Keeper.objects.filter(premises=OuterRef("pk"))
    return Premises.objects.filter(Exists(away) | Exists(kept), pk=premises.pk).exists()


def uncovered_for_plan(premises: Premises, now: datetime) -> list[tuple[str, str]]:
    """(key of the check, sentence), for the findings of the plan."""
    return [(one.check.key, one.sentence) for one in uncovered(premises, now)]


def _can_record(membership: Membership) -> bool:
    return may(membership, Right.RECORD)

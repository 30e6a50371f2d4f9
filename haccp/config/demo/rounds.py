"""Who does each check that falls due, when, and what is read: the people on their rounds."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from uuid import UUID

from batches.intake import actions as intake
from batches.intake.models import Acceptance
from haccp.checks.models import DueCheck
from haccp.config.demo import rooms
from haccp.config.demo.acidity import ph_reading
from haccp.config.demo.agenda import Agenda
from haccp.config.demo.dairy import Dairy
from haccp.config.demo.incidents import Incidents
from haccp.config.demo.local_days import SUNDAY, at, chance, local_day
from haccp.config.demo.plan import names
from haccp.lots.kinds import EventKind
from haccp.premises.scope import Scope

BY_THE_MAKE = (names.PASTEURISATION, names.THERMISATION)  # makes.py brings the recorder's file
PH_CHECKS = (names.PH_HARD, names.PH_LACTIC, names.PH_WASHED)

# Minutes before (-) and after the due time within which it is done.
TIMING = {
    names.MILK_ACCEPTANCE: (6, 20),
    names.TANK: (-60, -5),
    names.HEALTH: (-40, 10),
    names.WATER: (-150, 5),
    names.PHOSPHATASE: (-40, -2),
    names.PH_HARD: (-16, -5),
    names.PH_LACTIC: (-16, -5),
    names.PH_WASHED: (-16, -5),
    names.CELLAR: (-60, 15),
    names.CAVE: (-55, 20),
    names.CELLAR_HUMIDITY: (-60, 40),
    names.CAVE_HUMIDITY: (-55, 45),
    names.COLD_STORE: (-120, -5),
    names.BRINE: (-50, 30),
    names.VAT_1: (-110, -20),
    names.VAT_2: (-120, -30),
    names.PESTS: (-90, 60),
    names.ICE_POINT: (-60, 30),
    names.LABELS: (-100, -10),
    names.CLOSING: (-50, -12),
}
SLOW_READ_AFTER = timedelta(minutes=9)  # the slow make is read again when its time is up


class Rounds:
    """Called by the agenda for each check that has fallen due."""

    def __init__(self, dairy: Dairy, incidents: Incidents) -> None:
        self.dairy = dairy
        self.incidents = incidents
        self.agenda: Agenda | None = None

    def take_on(self, due: DueCheck) -> None:
        """Puts the check on the agenda, unless somebody forgets it or it is left for whoever tries the demo."""
        assert self.agenda is not None
        if due.check_due.name in BY_THE_MAKE or self.incidents.is_missed(due) or self._is_left_to_do(due):
            return
        observed_at = self._time_of(due)
        entered_at = observed_at + timedelta(seconds=chance("entered", due.slot_key).randint(25, 140))
        if due.check_due.name == names.CLOSING and local_day(due.due_at) in self.incidents.entered_next_morning:
            entered_at = at(local_day(due.due_at) + timedelta(days=1), 7, 20)
        self.agenda.add(entered_at, lambda now: self._do(due.id, observed_at, now))

    def _is_left_to_do(self, due: DueCheck) -> bool:
        assert self.agenda is not None
        is_open = due.opens_at <= self.agenda.until < due.grace_ends_at
        return is_open and due.check_due.name in names.AROUND_THE_CLOCK

    def _time_of(self, due: DueCheck) -> datetime:
        name = due.check_due.name
        if self._is_slow(due) and due.due_at == _deadline(due):
            return due.due_at + SLOW_READ_AFTER
        earliest, latest = TIMING[name]
        throw = chance("time", name, local_day(due.due_at), due.due_at.hour)
        return due.due_at + timedelta(seconds=throw.randint(earliest * 60, latest * 60))

    def _is_slow(self, due: DueCheck) -> bool:
        return (
            due.check_due.name == names.PH_HARD
            and due.lot is not None
            and local_day(due.lot.begun_at) == self.incidents.slow_make
        )

    def _do(self, due_id: UUID, observed_at: datetime, now: datetime) -> None:
        due = DueCheck.objects.select_related("check_due", "lot__product").filter(pk=due_id).first()
        if due is None:  # a new revision of the plan has taken it back
            return
        note = "Written down on paper, entered the next morning." if local_day(now) != local_day(observed_at) else ""
        values = self._values(due, observed_at)
        who = self._who(due)
        self.dairy.record(who, due, values, observed_at=observed_at, now=now, note=note)
        if due.check_due.name == names.MILK_ACCEPTANCE and due.lot_id is not None:
            intake.acceptance_decide(
                scope=who,
                acceptance_id=self.dairy.new_id("accepted", due.lot_id),
                lot_id=due.lot_id,
                decision=Acceptance.Decision.ACCEPTED,
                now=now,
            )

    def _who(self, due: DueCheck) -> Scope:
        staff, day, name = self.dairy.staff, local_day(due.due_at), due.check_due.name
        if name in (*PH_CHECKS, names.PHOSPHATASE, names.VAT_1, names.VAT_2):
            return staff.maker if day.weekday() != SUNDAY else staff.helper
        if day.weekday() == SUNDAY:
            return staff.owner if day.toordinal() % 2 else staff.helper
        return chance("who", name, day).choices((staff.helper, staff.maker, staff.owner), (6, 3, 1))[0]

    def _values(self, due: DueCheck, observed_at: datetime) -> dict[str, str]:
        name, day = due.check_due.name, local_day(due.due_at)
        if name in PH_CHECKS:
            return self._ph(due, observed_at)
        if name == names.MILK_ACCEPTANCE:
            return self._milk(due, day)
        return READINGS[name](observed_at, day)

    def _ph(self, due: DueCheck, observed_at: datetime) -> dict[str, str]:
        assert due.lot is not None
        assert due.lot.product is not None
        starter = due.lot.events.get(kind=EventKind.STARTER_ADDED)
        hours = (observed_at - starter.occurred_at).total_seconds() / 3600
        begun = local_day(due.lot.begun_at)
        return {"pH": ph_reading(due.lot.product.code, begun, hours, slow=self._is_slow(due))}

    def _milk(self, due: DueCheck, day: date) -> dict[str, str]:
        celsius = chance("arrival", due.due_at).uniform(3.2, 6.8)
        typed = MISTYPED if day == self.incidents.mistyped_milk and due.due_at < at(day, 12) else f"{celsius:.1f}"
        return {"Temperature": typed, "Residue test": "negative", "Smell and filter": "clean"}


MISTYPED, MEANT = "3.4", "4.3"


def _deadline(due: DueCheck) -> datetime:
    """The last of the lot's checks of this name."""
    return max(DueCheck.objects.filter(lot=due.lot, check_due=due.check_due).values_list("due_at", flat=True))


def _shelves(room: str) -> Callable[[datetime, date], dict[str, str]]:
    return lambda at, _: {"Top shelf": rooms.air(room, at, "top"), "Bottom shelf": rooms.air(room, at, "bottom")}


def _vat(at: datetime, day: date) -> dict[str, str]:
    throw = chance("cleaning", day, at)
    return {
        "Free chlorine": f"{throw.choice((130, 140, 150, 150, 160, 180, 110))}",
        "Solution": f"{throw.uniform(17, 24):.1f}",
        "Rinsed and looks clean": "yes",
    }


READINGS: dict[str, Callable[[datetime, date], dict[str, str]]] = {
    names.TANK: lambda at, _: {"Milk": rooms.air("tank", at)},
    names.HEALTH: lambda _, __: {"Everybody well, hands whole, clothes clean": "yes"},
    names.WATER: lambda _, __: {"Clear and without smell": "yes", "Ultraviolet lamp alight": "yes"},
    names.PHOSPHATASE: lambda _, day: {"Phosphatase": f"{chance('phosphatase', day).uniform(28, 95):.0f}"},
    names.CELLAR: _shelves("cellar"),
    names.CAVE: _shelves("cave"),
    names.CELLAR_HUMIDITY: lambda at, _: {"Humidity": rooms.damp("cellar", at)},
    names.CAVE_HUMIDITY: lambda at, _: {"Humidity": rooms.damp("cave", at)},
    names.COLD_STORE: lambda at, _: {"Warmest corner": rooms.air("cold", at)},
    names.BRINE: lambda _, day: {
        "Temperature": f"{chance('brine warmth', day).uniform(10.6, 13.1):.1f}",
        "Salt": f"{chance('brine salt', day).uniform(17.2, 19.4):.1f}",
        "Skimmed and clear": "yes",
    },
    names.VAT_1: _vat,
    names.VAT_2: _vat,
    names.PESTS: lambda _, day: {
        "Traps and screens": chance("pests", day).choice(("nothing", "nothing", "known, falling"))
    },
    names.ICE_POINT: lambda _, day: {"Probe thermometer": f"{chance('ice', day).uniform(-0.2, 0.2):.1f}"},
    names.LABELS: lambda _, __: {"First and last label read": "yes"},
    names.CLOSING: lambda _, __: {
        "Wires, blades and lamp covers whole": "yes",
        "Doors and screens shut, drains clean": "yes",
    },
}

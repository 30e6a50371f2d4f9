"""Loads the demo dairy: four weeks of work up to a moment, in one transaction."""

from datetime import datetime, timedelta

from django.db import transaction

from haccp.config.demo.agenda import Agenda, sweep
from haccp.config.demo.brine import add_brine
from haccp.config.demo.dairy import Dairy
from haccp.config.demo.days import add_day
from haccp.config.demo.incidents import plan_incidents
from haccp.config.demo.learned import add_trainings
from haccp.config.demo.local_days import at, local_day
from haccp.config.demo.makes import add_make
from haccp.config.demo.milk import add_milk
from haccp.config.demo.people import open_with_people
from haccp.config.demo.places import add_instruments, add_places
from haccp.config.demo.plan import add_products, approve_first, approve_second
from haccp.config.demo.procedures import add_procedures
from haccp.config.demo.recalled import add_exercise, add_mishaps
from haccp.config.demo.repairs import add_repairs
from haccp.config.demo.ripening import add_calibrations, add_care, set_rhythms
from haccp.config.demo.rounds import Rounds
from haccp.config.demo.stores import add_store, add_suppliers
from haccp.config.demo.trade import add_buyers, add_trade
from haccp.config.demo.upkeep import add_upkeep

DAYS = 28


@transaction.atomic
def load(*, now: datetime, days: int = DAYS) -> Dairy:
    """Opens the dairy `days` days before the local day of `now`, and lives through them up to `now`.

    Deterministic given `now`: chance depends on names and days alone. Nothing stays when anything fails.
    days: at least 2; with fewer than 22 some incidents lie before the first day and are left out.
    """
    today = local_day(now)
    first_day = today - timedelta(days=days)
    eve = first_day - timedelta(days=1)
    staff = open_with_people(at(eve, 15))
    places = add_places(staff.owner, at(eve, 15))
    products = add_products(staff.owner, at(eve, 16))
    dairy = Dairy(staff, places, add_instruments(staff.owner, places, today, at(eve, 15)), products, today)
    approve_first(staff.owner, products, places, effective_from=at(first_day, 0), at=at(eve, 17))
    sweep(at(eve, 17, 1))

    set_rhythms(dairy)
    add_suppliers(dairy, eve)
    add_procedures(dairy, eve)
    add_buyers(dairy)
    incidents = plan_incidents(today)
    rounds = Rounds(dairy, incidents)
    agenda = Agenda(staff.premises, now, rounds.take_on)
    rounds.agenda = agenda
    add_store(dairy, agenda, first_day)
    add_brine(dairy, agenda, first_day)
    for day in (first_day + timedelta(days=n) for n in range(days + 1)):
        add_milk(dairy, agenda, day)
        if day > first_day:  # the first make needs milk of the evening before
            add_make(dairy, agenda, incidents, day)
            add_trade(dairy, agenda, incidents, day)
        add_day(dairy, agenda, day)
        add_care(dairy, agenda, day)
    add_calibrations(dairy, agenda, first_day)
    if incidents.second_revision > first_day:
        agenda.add(
            at(incidents.second_revision - timedelta(days=1), 20),
            lambda then: approve_second(
                staff.owner, products, places, effective_from=at(incidents.second_revision, 0), at=then
            ),
        )
    add_repairs(dairy, agenda, incidents, first_day + timedelta(days=1))
    if incidents.recalled_make > first_day:
        add_mishaps(dairy, agenda, incidents)
        add_exercise(dairy, agenda, incidents)
    agenda.run()
    add_upkeep(dairy, now)
    add_trainings(dairy, now)
    return dairy

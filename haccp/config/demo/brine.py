"""The brine of the washed-rind cheese: made up once, skimmed and strengthened each week, shared by all of them."""

from datetime import date, datetime, timedelta
from uuid import UUID

from batches.making import actions as making
from haccp.config.demo.agenda import Agenda
from haccp.config.demo.dairy import Dairy
from haccp.config.demo.local_days import at
from haccp.config.demo.stores import ingredient_id

REFRESHED_EVERY_DAYS = 7


def brine_id(dairy: Dairy) -> UUID:
    return dairy.new_id("brine")


def add_brine(dairy: Dairy, agenda: Agenda, first_day: date) -> None:
    """Once the salt is in the store."""
    agenda.add(at(first_day, 9, 50), lambda now: _make_up(dairy, now))
    day = first_day + timedelta(days=REFRESHED_EVERY_DAYS)
    while day <= dairy.today:
        agenda.add(at(day, 16, 50), lambda now: _refresh(dairy, now))
        day += timedelta(days=REFRESHED_EVERY_DAYS)


def _make_up(dairy: Dairy, now: datetime) -> None:
    making.brine_make_up(
        scope=dairy.staff.maker,
        lot_id=brine_id(dairy),
        tank_id=dairy.places.brine_tank.id,
        water="own well, after the lamp",
        volume="180",
        volume_unit="L",
        salt_id=ingredient_id(dairy, "salt"),
        salt="40",
        salt_unit="kg",
        made_at=now - timedelta(minutes=15),
        note="Boiled and cooled to 12 °C.",
        now=now,
    )


def _refresh(dairy: Dairy, now: datetime) -> None:
    making.brine_refresh(
        scope=dairy.staff.maker,
        change_id=dairy.new_id("brine refreshed", now),
        brine_id=brine_id(dairy),
        refreshed_at=now - timedelta(minutes=5),
        salt_id=ingredient_id(dairy, "salt"),
        salt="3",
        salt_unit="kg",
        note="Skimmed; salt strewn on top.",
        now=now,
    )

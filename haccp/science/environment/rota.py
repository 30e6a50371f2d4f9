"""A rota of swabs: so many points every so many days, each in its turn."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TypeVar

from haccp.science.errors import InputError

Point = TypeVar("Point")


@dataclass(frozen=True, slots=True)
class Turn:
    """The points to be swabbed from `due_on` until the day before the next turn; indices into the points."""

    number: int
    due_on: date
    points: tuple[int, ...]


def turns(count: int, *, first_on: date, every_days: int, at_once: int, until: date) -> list[Turn]:
    """Every turn with due_on <= until. Each point comes again after ceil(count / at_once) turns at the latest.

    count: how many points the zone has. Raises InputError for a rota that asks for nothing.
    """
    if every_days < 1 or at_once < 1:
        raise InputError("A rota asks for at least one swab at a time, every day at most.", remedy="Correct it.")
    if count == 0 or until < first_on:
        return []
    taken = min(at_once, count)
    last = (until - first_on).days // every_days
    return [
        Turn(
            number,
            first_on + timedelta(days=number * every_days),
            tuple((number * taken + place) % count for place in range(taken)),
        )
        for number in range(last + 1)
    ]


def missing(
    found: Sequence[Turn], swabbed: Sequence[tuple[int, date]], *, today: date, every_days: int
) -> list[tuple[int, date]]:
    """(point, due on) of each point that its latest turn asked for and that has not been swabbed since.

    swabbed: (point, day). Only the turn that runs now and the one before it count: what was left out for longer is
    swabbed in its next turn, and the list says the earlier day.
    """
    open_turns = [turn for turn in found if turn.due_on <= today < turn.due_on + timedelta(days=2 * every_days)]
    asked: dict[int, date] = {}
    for turn in open_turns:
        for point in turn.points:
            if not any(one == point and day >= turn.due_on for one, day in swabbed):
                asked.setdefault(point, turn.due_on)
    return sorted(asked.items(), key=lambda one: (one[1], one[0]))

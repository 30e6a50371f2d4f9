"""How long the law asks each kind of record to be kept, from the library's published values.

Nothing is ever deleted here, so that no row can leave too early. What retention decides is what is shown, and until
when a person's name stays although its erasure is asked for.
"""

import calendar
import datetime as dt
from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from haccp.plan import library_store
from haccp.plan.library.entries import Known, Value

# Kind of record -> the library's values about it, of every jurisdiction; those of a premises' own are shown.
KINDS = {
    "monitoring": (
        _("Checks, readings, deviations, corrective actions, samples, signatures"),
        ("records.us.117", "records.eu.852", "records.codex"),
    ),
    "plan": (_("The plan, its revisions, reviews and validations"), ("records.us.117", "records.eu.852")),
    "equipment": (
        _("Calibrations, and that equipment and processes are adequate: from the end of their use"),
        ("records.us.117", "records.eu.852"),
    ),
    "heat": (
        _("Charts and records of heat treatment"),
        ("records.us.117", "records.us.pmo_chart", "records.us-ca.chart", "records.eu.852"),
    ),
    "make": (_("Make sheets and starters"), ("records.us.117", "records.us.usda", "records.eu.852")),
    "trace": (
        _("Lots, what went into them and where they went"),
        ("records.us.trace", "records.us.117", "records.eu.trace", "records.eu.931"),
    ),
}


@dataclass(frozen=True, slots=True)
class Rule:
    """One published rule as it is cited. months: None where it gives no number."""

    title: str
    document: str
    clause: str
    is_from_memory: bool
    months: int | None
    words: str


@dataclass(frozen=True, slots=True)
class Kept:
    """A kind of record with the rules of a jurisdiction. months: the longest that any of them asks."""

    kind: str
    title: str
    rules: tuple[Rule, ...]

    @property
    def months(self) -> int | None:
        return max((rule.months for rule in self.rules if rule.months is not None), default=None)


def kinds_in(jurisdiction: str) -> tuple[Kept, ...]:
    """Every kind of record, with what a jurisdiction (or the one above it) publishes about keeping it. Two queries."""
    known = {value.id: value for value in library_store.values("retention", jurisdiction)}
    titles = library_store.document_titles()
    return tuple(
        Kept(kind, str(title), tuple(_rule(known[key], titles) for key in keys if key in known))
        for kind, (title, keys) in KINDS.items()
    )


def kept_until(jurisdiction: str, day: dt.date) -> tuple[dt.date, Rule] | None:
    """The last day on which the law asks a monitoring record of that day to be kept, and the rule; None where the
    jurisdiction gives no number: then it is the dairy's to say, and nobody else's."""
    rules = [rule for kept in kinds_in(jurisdiction) if kept.kind == "monitoring" for rule in kept.rules]
    numbered = [(rule.months, rule) for rule in rules if rule.months is not None]
    if not numbered:
        return None
    months, rule = max(numbered, key=lambda one: one[0])
    return _later(day, months), rule


def _rule(value: Value, titles: dict[str, str]) -> Rule:
    period = next((part.period for part in value.parts if part.period is not None), None)
    months = None if period is None else period[1] * (12 if period[0] == "years" else 1)
    words = " ".join(one for one in (value.rule, value.note) if one)
    document = titles.get(value.document, value.document)
    return Rule(value.title, document, value.clause, value.known is Known.MEMORY, months, words)


def _later(day: dt.date, months: int) -> dt.date:
    year, month = divmod(day.month - 1 + months, 12)
    year, month = day.year + year, month + 1
    return dt.date(year, month, min(day.day, calendar.monthrange(year, month)[1]))

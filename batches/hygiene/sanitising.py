"""The published conditions of sanitising, for whoever writes a method: strength, temperature and contact time."""

from dataclasses import dataclass
from datetime import date

from haccp.plan.library.entries import Value
from haccp.plan.library_store import document_titles, values
from haccp.premises.models import Premises

SUBJECT = "sanitising"
# Where the own law names none (the European Union asks for what works, in no numbers), these are for comparison.
WITH_NUMBERS = Premises.Jurisdiction.US


@dataclass(frozen=True, slots=True)
class Condition:
    """source: document and clause, with what is known of the text. is_own: published for these premises."""

    title: str
    detail: str
    source: str
    is_own: bool


def conditions_for(premises: Premises, on: date) -> list[Condition]:
    """Those in force on a day, the premises' own law where it has any. Two queries, or four."""
    titles = document_titles()
    found = _in_force(premises.jurisdiction, on)
    is_own = bool(found)
    return [_condition(one, titles, is_own) for one in found or _in_force(WITH_NUMBERS, on)]


def _in_force(jurisdiction: str, on: date) -> list[Value]:
    return [one for one in values(SUBJECT, jurisdiction) if one.is_in_force(on) and not one.superseded_by]


def _condition(value: Value, titles: dict[str, str], is_own: bool) -> Condition:
    known = "" if value.known == "read" else f" ({value.known.in_words})"
    detail = " ".join(filter(None, (value.rule, value.condition, value.note)))
    return Condition(
        value.title, detail, f"{titles.get(value.document, value.document)}, {value.clause}{known}", is_own
    )

"""Alkaline phosphatase (ALP) after pasteurisation, judged with what it is worth in each species' milk.

It stands beside the record of time and temperature, never in its place: a cracked plate shows here and not there, a
short hold there and perhaps not here.
"""

import math
from dataclasses import dataclass

from haccp.science.errors import InputError
from haccp.science.guard import guard_band
from haccp.science.ruling import JsonValue, Ruling, Verdict
from haccp.science.units import show


@dataclass(frozen=True, slots=True)
class PhosphataseLimit:
    """limit: in mU/L of milk, by ISO 11816-1. is_law: False for a proposal. caveat: goes with every verdict.

    includes_limit: whether a result at the limit itself is negative.
    """

    species: str
    jurisdiction: str
    limit: float
    is_law: bool
    includes_limit: bool
    source: str
    known: str
    caveat: str = ""


_EFSA = "EFSA 2021, EFSA Journal 19(4):6576"
_SHEEP = (
    "Raw ewe's milk has about three times the enzyme of cow's: well treated milk may exceed the cow's limit, and the "
    "limit here is a proposal, not law."
)
_GOAT = (
    "Raw goat's milk has about a fifth of the enzyme of cow's: a low result is weak evidence, since much raw milk "
    "could be mixed in unseen. The limit here is a proposal, not law."
)

LIMITS: tuple[PhosphataseLimit, ...] = (
    PhosphataseLimit(
        "cow", "EU", 350.0, True, True, "Regulation (EC) 2074/2005, Annex VIa, chapter II; ISO 11816-1", "read"
    ),
    PhosphataseLimit("cow", "US", 350.0, True, False, "Grade “A” PMO, table 1 (read in a book that quotes it)", "read"),
    PhosphataseLimit("goat", "EU", 300.0, False, False, _EFSA, "read", _GOAT),
    PhosphataseLimit("sheep", "EU", 500.0, False, False, _EFSA, "read", _SHEEP),
)


def limit_for(species: str, jurisdiction: str = "EU") -> PhosphataseLimit | None:
    """The limit for the milk of a species; None where none is published (buffalo, mixed milk)."""
    return next((row for row in LIMITS if (row.species, row.jurisdiction) == (species, jurisdiction)), None)


def judge_phosphatase(
    activity_mu_per_l: float, species: str, *, jurisdiction: str = "EU", expanded_uncertainty: float = 0.0
) -> Verdict:
    """A result of the milk at once after treatment, in mU/L.

    A limit of law: BREACHED above it, UNPROVEN within the guard band (JCGM 106), else MET. A proposal: UNPROVEN above
    it, since no law condemns and nothing proves; CLOSE below it, since it is weaker evidence than the law's. No limit
    published: UNPROVEN. facts hold the caveat. margin: limit less activity. InputError for a result below zero.
    """
    if not (math.isfinite(activity_mu_per_l) and activity_mu_per_l >= 0):
        raise InputError("A phosphatase activity is zero or more.", remedy="Type the laboratory's result in mU/L.")
    row = limit_for(species, jurisdiction)
    found = show("phosphatase", activity_mu_per_l)
    if row is None:
        reason = f"{found} in {species} milk: no limit is published for it in {jurisdiction}, so it proves nothing."
        return Verdict(Ruling.UNPROVEN, None, "phosphatase.no_limit", reason, {"species": species, "caveat": reason})
    margin = row.limit - activity_mu_per_l
    ruling, code = _rule(row, margin, guard_band(expanded_uncertainty))
    word = "limit" if row.is_law else "proposed limit"
    reason = f"{found}; the {word} for {species} milk is {show('phosphatase', row.limit)}."
    if code == "phosphatase.uncertain":
        reason += " That is too near to be sure."
    if row.caveat:
        reason += f" {row.caveat}"
    facts: dict[str, JsonValue] = {
        "activity_mu_per_l": activity_mu_per_l,
        "limit": row.limit,
        "is_law": row.is_law,
        "species": species,
        "source": row.source,
        "caveat": row.caveat,
    }
    return Verdict(ruling, margin, code, reason, facts)


def _rule(row: PhosphataseLimit, margin: float, band: float) -> tuple[Ruling, str]:
    is_over = margin < 0 or (margin == 0 and not row.includes_limit)
    if is_over:
        return (Ruling.BREACHED, "phosphatase.above") if row.is_law else (Ruling.UNPROVEN, "phosphatase.above_proposal")
    if margin < band:
        return Ruling.UNPROVEN, "phosphatase.uncertain"
    return (Ruling.MET, "phosphatase.met") if row.is_law else (Ruling.CLOSE, "phosphatase.weak")

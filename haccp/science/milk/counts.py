"""Plate counts and somatic cells of raw milk: rolling geometric means, as the regulations define them."""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from haccp.science.errors import InputError
from haccp.science.ruling import Ruling, Verdict
from haccp.science.units import decimals_to_tell_apart, show

Month = tuple[int, int]  # year, month


@dataclass(frozen=True, slots=True)
class CountResult:
    """One result of the laboratory. value: in cfu/mL or cells/mL; for “< 10” give 10, the safe side."""

    sampled_on: date
    value: float


@dataclass(frozen=True, slots=True)
class CountCriterion:
    """The geometric mean over months calendar months, with per_month results in each, is limit or less.

    quantity: "count_cfu" or "somatic_cells". species: "cow" or "other". for_raw_product: milk for a product that
    is made by a process without any heat treatment. known: "read" or "memory".
    """

    quantity: str
    species: str
    limit: float
    months: int
    per_month: int
    jurisdiction: str
    clause: str
    known: str
    for_raw_product: bool = False


_EU = "Regulation (EC) 853/2004, Annex III, section IX, chapter I, part III, point 3"

# The text was read in a secondary source that quotes it. It lets the authority set another way of reckoning
# somatic cells where production changes with the season (from memory).
CRITERIA: tuple[CountCriterion, ...] = (
    CountCriterion("count_cfu", "cow", 100_000, 2, 2, "EU", f"{_EU}(a)(i)", "read"),
    CountCriterion("somatic_cells", "cow", 400_000, 3, 1, "EU", f"{_EU}(a)(i)", "read"),
    CountCriterion("count_cfu", "other", 1_500_000, 2, 2, "EU", f"{_EU}(a)(ii)", "read"),
    CountCriterion("count_cfu", "other", 500_000, 2, 2, "EU", f"{_EU}(b)", "read", for_raw_product=True),
    # The retained Regulation has the same numbers (from memory)
    CountCriterion("count_cfu", "cow", 100_000, 2, 2, "UK", f"retained {_EU}(a)(i)", "memory"),
    CountCriterion("somatic_cells", "cow", 400_000, 3, 1, "UK", f"retained {_EU}(a)(i)", "memory"),
    CountCriterion("count_cfu", "other", 1_500_000, 2, 2, "UK", f"retained {_EU}(a)(ii)", "memory"),
    CountCriterion("count_cfu", "other", 500_000, 2, 2, "UK", f"retained {_EU}(b)", "memory", for_raw_product=True),
)


def criterion(quantity: str, species: str, *, for_raw_product: bool, jurisdiction: str = "EU") -> CountCriterion | None:
    """The criterion that holds for a milk; None where none is published (somatic cells of ewes and goats).

    species: "cow", or any other. The raw-product row goes before the general one.
    """
    kind = species if species == "cow" else "other"
    found = [
        c
        for c in CRITERIA
        if (c.quantity, c.species, c.jurisdiction) == (quantity, kind, jurisdiction)
        and (for_raw_product or not c.for_raw_product)
    ]
    return min(found, key=lambda c: c.limit, default=None)


def geometric_mean(values: Iterable[float]) -> float:
    """exp(mean of ln x), in the unit of the values. InputError for no value, and for one that is not above zero."""
    logs = []
    for value in values:
        if not (math.isfinite(value) and value > 0):
            raise InputError(
                f"A geometric mean takes no count of {value:g}.",
                remedy="Give the laboratory's lowest countable number, such as 10 for “< 10”.",
            )
        logs.append(math.log(value))
    if not logs:
        raise InputError("There is no count to take a mean of.", remedy="Record the laboratory's results first.")
    return math.exp(math.fsum(logs) / len(logs))


def period_of(results: Sequence[CountResult], months: int, per_month: int, as_of: date) -> tuple[Month, ...]:
    """The calendar months, oldest first, that the mean is taken over.

    They end with the month of as_of once it has its results, and until then with the month before.
    """
    counts = Counter(_month(r.sampled_on) for r in results if r.sampled_on <= as_of)
    last = _month(as_of)
    if counts[last] < per_month:
        last = _earlier(last, 1)
    return tuple(_earlier(last, back) for back in reversed(range(months)))


def judge_counts(rule: CountCriterion, results: Sequence[CountResult], *, as_of: date) -> Verdict:
    """The rolling geometric mean against its limit, as it stood on as_of.

    UNPROVEN when a month of the period has fewer results than the rule asks for, whatever the mean of the others;
    else MET or BREACHED. Results after as_of do not count. margin: limit less mean, per mL.
    facts: mean, period ("2026-04" ...), results (per month), limit, clause, not_yet_counted (results after the
    period). InputError for a count that is not above zero.
    """
    period = period_of(results, rule.months, rule.per_month, as_of)
    taken = [r for r in results if r.sampled_on <= as_of and _month(r.sampled_on) in period]
    counts = Counter(_month(r.sampled_on) for r in taken)
    mean = geometric_mean(r.value for r in taken) if taken else None
    later = sum(r.sampled_on <= as_of and _month(r.sampled_on) > period[-1] for r in results)
    names = [f"{year}-{month:02d}" for year, month in period]
    short = [name for name, month in zip(names, period, strict=True) if counts[month] < rule.per_month]
    ruling, code, reason = _rule(rule, mean, short, f"{names[0]} to {names[-1]}")
    return Verdict(
        ruling,
        None if mean is None or short else rule.limit - mean,
        code,
        reason,
        {
            "mean": mean,
            "period": list(names),
            "results": [counts[month] for month in period],
            "limit": rule.limit,
            "clause": rule.clause,
            "not_yet_counted": later,
        },
    )


def _rule(rule: CountCriterion, mean: float | None, short: list[str], period: str) -> tuple[Ruling, str, str]:
    needed = "one result is" if rule.per_month == 1 else f"{rule.per_month} results are"
    needed += " needed in every month"
    if mean is None:
        return Ruling.UNPROVEN, "counts.missing", f"There is no result from {period}; {needed}."
    places = decimals_to_tell_apart(rule.quantity, (mean, rule.limit))
    found = show(rule.quantity, mean, decimals=places)
    allowed = show(rule.quantity, rule.limit, decimals=places)
    if short:
        reason = (
            f"Too few results in {', '.join(short)}: {needed}. The geometric mean of those from {period} "
            f"is {found}; the limit is {allowed}."
        )
        return Ruling.UNPROVEN, "counts.too_few", reason
    sentence = f"The geometric mean from {period} is {found}; at most {allowed} is allowed."
    if mean > rule.limit:
        return Ruling.BREACHED, "counts.above", sentence
    return Ruling.MET, "counts.met", sentence


def _month(day: date) -> Month:
    return day.year, day.month


def _earlier(month: Month, back: int) -> Month:
    index = month[0] * 12 + month[1] - 1 - back
    return index // 12, index % 12 + 1

"""Periodic results of raw milk where the law counts results above the limit, instead of taking a mean of them.

United States: the standard of Grade "A" milk, judged over the last four and the last five results. Ontario and the
provinces that share its rule: the share of results above the limit over three months. Australia: no regulation sets
either count, so there is nothing to judge.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from haccp.science.milk.counts import CountCriterion, CountResult, criterion, judge_counts
from haccp.science.ruling import JsonValue, Ruling, Verdict
from haccp.science.units import show

HALF_YEAR_MONTHS = 6


@dataclass(frozen=True, slots=True)
class OutOfLast:
    """Written notice when notice_of[0] of the last notice_of[1] results exceed limit, suspension at suspend_of.

    in_half_year: results in separate months that are asked for in six months. species: those it holds for.
    """

    quantity: str
    species: frozenset[str]
    limit: float
    jurisdiction: str
    clause: str
    known: str
    notice_of: tuple[int, int] = (2, 4)
    suspend_of: tuple[int, int] = (3, 5)
    in_half_year: int = 4


@dataclass(frozen=True, slots=True)
class ShareOver:
    """Too many when more than share of the results of `months` calendar months exceed limit, one of the last month
    among them."""

    quantity: str
    species: frozenset[str]
    limit: float
    jurisdiction: str
    clause: str
    known: str
    months: int = 3
    share: float = 0.40


CountRule = CountCriterion | OutOfLast | ShareOver

# The two-of-four and three-of-five method, and four samples in six months, were read in state rules that carry it:
# South Dakota 12:17:02:13 and Oregon OAR 603-024-0592 (which has 500 000 of its own for cows). The limits of table 1
# were read in a secondary source; that the Ordinance's section 6 has the same method is from memory.
_PMO = "Grade “A” Pasteurized Milk Ordinance, section 6 and table 1"
_NOT_GOAT = frozenset({"cow", "ewe", "buffalo"})
_US = (
    OutOfLast("count_cfu", _NOT_GOAT | {"goat"}, 100_000, "US", _PMO, "memory"),
    OutOfLast("somatic_cells", _NOT_GOAT, 750_000, "US", _PMO, "memory"),
    OutOfLast("somatic_cells", frozenset({"goat"}), 1_500_000, "US", _PMO, "memory"),
)
# Read: the proposals that set 400 000 (2012) and the share of 40 % over three months with one in the current month
# (2018), and the producers' fact sheet on it. Bacteria are limited there in individual counts (IBC) by another
# method, 121 000 per mL, which a plate count in cfu does not show.
_CA = (
    ShareOver(
        "somatic_cells", frozenset({"cow"}), 400_000, "CA",
        "R.R.O. 1990, Regulation 761 (Ontario), section 52; other provinces have rules of their own", "read",
    ),
)  # fmt: skip
RULES: tuple[OutOfLast | ShareOver, ...] = (*_US, *_CA)

WITHOUT_RULE = {
    "AU": "No regulation sets a limit to plate count or somatic cells there; the industry’s own limit for somatic "
    "cells is 400 000 per mL (Dairy Australia). Your state’s dairy authority may ask for more.",
    "CA": "No rule for this count is on file: bacteria are limited there in individual counts (IBC) by another "
    "method, and each province has rules of its own.",
}


def rule_for(quantity: str, species: str, *, for_raw_product: bool, jurisdiction: str) -> CountRule | None:
    """What judges a milk's periodic results; None where nothing is on file. species: "cow", "goat", "ewe", ..."""
    for rule in RULES:
        if (rule.quantity, rule.jurisdiction) == (quantity, jurisdiction) and species in rule.species:
            return rule
    return criterion(quantity, species, for_raw_product=for_raw_product, jurisdiction=jurisdiction)


def judge_periodic(rule: CountRule, results: Sequence[CountResult], *, as_of: date) -> Verdict:
    """By whichever method the rule has. Results after as_of do not count; their order does not matter."""
    known = sorted((one for one in results if one.sampled_on <= as_of), key=lambda one: one.sampled_on)
    match rule:
        case CountCriterion():
            return judge_counts(rule, known, as_of=as_of)
        case OutOfLast():
            return judge_last(rule, known, as_of=as_of)
        case ShareOver():
            return judge_share(rule, known, as_of=as_of)


def judge_last(rule: OutOfLast, results: Sequence[CountResult], *, as_of: date) -> Verdict:
    """BREACHED when the limit is exceeded as often as suspends, CLOSE when as often as brings a notice or by the last
    result, UNPROVEN with too few months sampled, else MET. results in order of time. margin: limit less last result.
    facts: limit, clause, above (of the last five), counted (how many results those are), months.
    """
    last = list(results[-rule.suspend_of[1] :])
    above = [one.value > rule.limit for one in last]
    months = {
        (one.sampled_on.year, one.sampled_on.month) for one in results if _months_ago(one, as_of) < HALF_YEAR_MONTHS
    }
    facts: dict[str, JsonValue] = {
        "limit": rule.limit,
        "clause": rule.clause,
        "above": sum(above),
        "counted": len(last),
        "months": len(months),
    }
    allowed = f"the limit of {show(rule.quantity, rule.limit)}"
    margin = rule.limit - last[-1].value if last else None
    recent = above[-rule.notice_of[1] :]
    if sum(above) >= rule.suspend_of[0]:
        reason = (
            f"{sum(above)} of the last {len(last)} results exceed {allowed}: the permit is suspended at three of five."
        )
        return Verdict(Ruling.BREACHED, margin, "counts.three_of_five", reason, facts)
    if sum(recent) >= rule.notice_of[0]:
        reason = (
            f"{sum(recent)} of the last {len(recent)} results exceed {allowed}: a notice is due, and one more suspends."
        )
        return Verdict(Ruling.CLOSE, margin, "counts.two_of_four", reason, facts)
    if len(months) < rule.in_half_year:
        reason = (
            f"Results from {len(months)} of the last six months: {rule.in_half_year} separate months are asked for. "
            f"{sum(above)} of the last {len(last)} exceed {allowed}."
        )
        return Verdict(Ruling.UNPROVEN, None, "counts.too_few", reason, facts)
    if above[-1]:
        reason = f"The last result exceeds {allowed}; two of the last four bring a notice."
        return Verdict(Ruling.CLOSE, margin, "counts.last_above", reason, facts)
    reason = f"{sum(above)} of the last {len(last)} results exceed {allowed}."
    return Verdict(Ruling.MET, margin, "counts.met", reason, facts)


def judge_share(rule: ShareOver, results: Sequence[CountResult], *, as_of: date) -> Verdict:
    """BREACHED when the share is exceeded, with one above the limit in the last month; CLOSE when any is above in it;
    UNPROVEN where a month of the period has no result, else MET. The period ends with the month of as_of once it has a
    result, and until then with the month before. facts: limit, clause, above, counted, share.
    """
    last = 0 if any(_months_ago(one, as_of) == 0 for one in results) else 1
    taken = [one for one in results if last <= _months_ago(one, as_of) < last + rule.months]
    above = [one for one in taken if one.value > rule.limit]
    now_above = [one for one in above if _months_ago(one, as_of) == last]
    share = len(above) / len(taken) if taken else 0.0
    facts: dict[str, JsonValue] = {
        "limit": rule.limit,
        "clause": rule.clause,
        "above": len(above),
        "counted": len(taken),
        "share": share,
    }
    sentence = (
        f"{len(above)} of {len(taken)} results of three months exceed {show(rule.quantity, rule.limit)}, "
        f"{len(now_above)} of them in the last month; more than {rule.share:.0%}, one of the last month among them, is "
        "too many."
    )
    if now_above and share > rule.share:
        return Verdict(Ruling.BREACHED, rule.share - share, "counts.share", sentence, facts)
    if len({_months_ago(one, as_of) for one in taken}) < rule.months:
        reason = f"A month of the three has no result. {sentence}"
        return Verdict(Ruling.UNPROVEN, None, "counts.too_few", reason, facts)
    ruling, code = (Ruling.CLOSE, "counts.last_above") if now_above else (Ruling.MET, "counts.met")
    return Verdict(ruling, rule.share - share, code, sentence, facts)


def _months_ago(one: CountResult, as_of: date) -> int:
    return (as_of.year - one.sampled_on.year) * 12 + as_of.month - one.sampled_on.month

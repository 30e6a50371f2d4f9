"""Periodic results judged by how many exceed the limit."""

from datetime import date

import pytest

from haccp.science.milk.count_rules import WITHOUT_RULE, OutOfLast, ShareOver, judge_periodic, rule_for
from haccp.science.milk.counts import CountCriterion, CountResult
from haccp.science.ruling import Ruling

TODAY = date(2026, 6, 28)


def monthly(*thousands: float) -> list[CountResult]:
    """The last of them in June, one a month before it."""
    return [CountResult(date(2026, 6 - i, 10), value * 1000) for i, value in enumerate(reversed(thousands))]


def us(quantity: str = "somatic_cells", species: str = "cow") -> OutOfLast:
    rule = rule_for(quantity, species, for_raw_product=True, jurisdiction="US")
    assert isinstance(rule, OutOfLast)
    return rule


def test_the_limits_are_those_of_the_published_tables() -> None:
    """Ordinance table 1: 100 000, 750 000, goats 1 500 000 (secondary source). Regulation 761: 400 000 (read)."""
    assert (us("count_cfu").limit, us().limit, us(species="goat").limit) == (100_000, 750_000, 1_500_000)
    ontario = rule_for("somatic_cells", "cow", for_raw_product=False, jurisdiction="CA")
    assert isinstance(ontario, ShareOver)
    assert (ontario.limit, ontario.months, ontario.share) == (400_000, 3, 0.4)
    assert isinstance(rule_for("count_cfu", "cow", for_raw_product=False, jurisdiction="EU"), CountCriterion)
    assert rule_for("count_cfu", "cow", for_raw_product=False, jurisdiction="AU") is None
    assert "No regulation" in WITHOUT_RULE["AU"]


@pytest.mark.parametrize(
    ("counts", "ruling", "code"),
    [
        # South Dakota 12:17:02:13 (read): two of the last four bring a notice, three of the last five suspend
        ((200, 300, 250, 400, 300), Ruling.MET, "counts.met"),
        ((900, 300, 250, 400, 300), Ruling.MET, "counts.met"),
        ((200, 300, 250, 400, 800), Ruling.CLOSE, "counts.last_above"),
        ((200, 800, 250, 900, 300), Ruling.CLOSE, "counts.two_of_four"),
        ((800, 300, 900, 300, 760), Ruling.BREACHED, "counts.three_of_five"),
        ((750, 750, 750, 750, 750), Ruling.MET, "counts.met"),
        # Oregon OAR 603-024-0592 (read): four in separate months of each six
        ((200, 300, 250), Ruling.UNPROVEN, "counts.too_few"),
    ],
)
def test_the_last_four_and_the_last_five_decide(counts: tuple[float, ...], ruling: Ruling, code: str) -> None:
    verdict = judge_periodic(us(), monthly(*counts), as_of=TODAY)
    assert (verdict.ruling, verdict.code) == (ruling, code)
    assert judge_periodic(us(), monthly(*counts)[::-1], as_of=TODAY) == verdict


@pytest.mark.parametrize(
    ("june", "ruling"),
    [
        # 5 of 12 are 41.7 %: above 40; 4 of 12 are 33 % (Ontario registry posting 23042, read)
        ((500, 500, 300, 300), Ruling.BREACHED),
        ((500, 300, 300, 300), Ruling.CLOSE),
        ((300, 300, 300, 300), Ruling.MET),
    ],
)
def test_more_than_two_fifths_over_three_months_is_too_many(june: tuple[float, ...], ruling: Ruling) -> None:
    rule = rule_for("somatic_cells", "cow", for_raw_product=False, jurisdiction="CA")
    assert rule is not None
    rows = [(4, 450), (4, 450), (4, 300), (4, 300), (5, 450), (5, 300), (5, 300), (5, 300)]
    earlier = [CountResult(date(2026, month, 3 + i), value * 1000) for i, (month, value) in enumerate(rows)]
    results = earlier + [CountResult(date(2026, 6, 3 + i), value * 1000) for i, value in enumerate(june)]
    assert judge_periodic(rule, results, as_of=TODAY).ruling is ruling
    # Without a result above the limit in the last month nothing is due, whatever the months before were (fact sheet)
    bad = [CountResult(one.sampled_on, 900_000) if one.sampled_on.month < 6 else one for one in results]
    if june == (300, 300, 300, 300):
        assert judge_periodic(rule, bad, as_of=TODAY).ruling is Ruling.MET
    assert judge_periodic(rule, results[4:], as_of=TODAY).ruling in (Ruling.UNPROVEN, Ruling.BREACHED)

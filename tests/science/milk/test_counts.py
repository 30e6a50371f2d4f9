"""Rolling geometric means of plate counts and somatic cells."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import gmean

from haccp.science.errors import InputError
from haccp.science.milk.counts import CountCriterion, CountResult, criterion, geometric_mean, judge_counts, period_of
from haccp.science.ruling import Ruling

COW_PLATE = criterion("count_cfu", "cow", for_raw_product=True)
assert COW_PLATE is not None


def results(*pairs: tuple[str, float]) -> list[CountResult]:
    return [CountResult(date.fromisoformat(day), value) for day, value in pairs]


SPRING = results(("2026-04-02", 40_000), ("2026-04-19", 90_000), ("2026-05-03", 250_000), ("2026-05-20", 60_000))


@given(st.lists(st.floats(1, 1e9), min_size=1, max_size=20))
def test_the_mean_is_that_of_scipy(values: list[float]) -> None:
    assert geometric_mean(values) == pytest.approx(gmean(values), rel=1e-9)


@pytest.mark.parametrize(
    ("quantity", "species", "for_raw_product", "limit", "months", "per_month"),
    [
        # Regulation (EC) 853/2004, Annex III, section IX, chapter I, part III, point 3(a)(i), (a)(ii) and (b)
        ("count_cfu", "cow", False, 100_000, 2, 2),
        ("somatic_cells", "cow", False, 400_000, 3, 1),
        ("count_cfu", "goat", False, 1_500_000, 2, 2),
        ("count_cfu", "sheep", True, 500_000, 2, 2),
        ("count_cfu", "cow", True, 100_000, 2, 2),
    ],
)
def test_the_criteria_are_those_of_the_regulation(
    quantity: str, species: str, for_raw_product: bool, limit: float, months: int, per_month: int
) -> None:
    found = criterion(quantity, species, for_raw_product=for_raw_product)

    assert isinstance(found, CountCriterion)
    assert (found.limit, found.months, found.per_month) == (limit, months, per_month)


def test_somatic_cells_of_other_species_have_no_criterion() -> None:
    assert criterion("somatic_cells", "goat", for_raw_product=True) is None


def test_two_results_in_each_of_two_months_prove_the_mean() -> None:
    verdict = judge_counts(COW_PLATE, SPRING, as_of=date(2026, 5, 31))

    # ⁴√(40 000 × 90 000 × 250 000 × 60 000) = 85 723, worked out by hand
    assert verdict.ruling is Ruling.MET
    assert verdict.facts["mean"] == pytest.approx(85_723, abs=1)
    assert verdict.margin == pytest.approx(100_000 - 85_723, abs=1)
    assert verdict.facts["period"] == ["2026-04", "2026-05"]


def test_a_mean_above_the_limit_is_a_breach() -> None:
    worse = [*SPRING[:-1], CountResult(date(2026, 5, 20), 150_000)]

    verdict = judge_counts(COW_PLATE, worse, as_of=date(2026, 5, 31))

    assert verdict.ruling is Ruling.BREACHED
    assert "107\u00a0" in verdict.reason


def test_a_month_with_one_result_proves_nothing() -> None:
    verdict = judge_counts(COW_PLATE, SPRING[:-1], as_of=date(2026, 6, 1))

    assert verdict.ruling is Ruling.UNPROVEN
    assert verdict.margin is None
    assert "2026-05" in verdict.reason


def test_a_month_that_still_runs_counts_once_it_has_its_results() -> None:
    june = [*SPRING, CountResult(date(2026, 6, 2), 900_000)]

    assert period_of(june, 2, 2, date(2026, 6, 10)) == ((2026, 4), (2026, 5))
    assert judge_counts(COW_PLATE, june, as_of=date(2026, 6, 10)).facts["not_yet_counted"] == 1
    assert period_of([*june, CountResult(date(2026, 6, 9), 5e5)], 2, 2, date(2026, 6, 10)) == ((2026, 5), (2026, 6))


def test_a_period_reaches_back_over_the_new_year() -> None:
    assert period_of([], 3, 1, date(2026, 1, 15)) == ((2025, 10), (2025, 11), (2025, 12))


def test_results_of_the_future_do_not_count() -> None:
    past = judge_counts(COW_PLATE, SPRING, as_of=date(2026, 5, 31))
    later = [*SPRING, CountResult(date(2026, 7, 1), 9e6)]

    assert judge_counts(COW_PLATE, later, as_of=date(2026, 5, 31)) == past


def test_no_result_at_all_is_unproven() -> None:
    assert judge_counts(COW_PLATE, [], as_of=date(2026, 5, 31)).ruling is Ruling.UNPROVEN


def test_a_count_of_zero_is_refused_with_the_remedy() -> None:
    with pytest.raises(InputError, match="lowest countable number"):
        judge_counts(COW_PLATE, results(("2026-05-03", 0.0)), as_of=date(2026, 6, 1))


@given(st.lists(st.tuples(st.integers(0, 80), st.floats(1_000, 300_000)), max_size=12), st.data())
def test_losing_results_never_turns_unproven_into_met(pairs: list[tuple[int, float]], data: st.DataObject) -> None:
    whole = [CountResult(date(2026, 4, 1) + timedelta(days=day), value) for day, value in pairs]
    # May is over on the day of judging, so the period cannot move
    as_of = date(2026, 6, 30)
    before = judge_counts(COW_PLATE, whole, as_of=as_of)
    kept = data.draw(st.lists(st.sampled_from(whole), unique=True) if whole else st.just([]))

    after = judge_counts(COW_PLATE, kept, as_of=as_of)

    if before.ruling is Ruling.UNPROVEN and before.facts["period"] == after.facts["period"]:
        assert after.ruling is Ruling.UNPROVEN

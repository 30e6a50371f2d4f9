"""Every value of the library against the table that was typed apart from it."""

import pytest

from haccp.plan.library import Library
from haccp.plan.library.entries import Part, Value
from haccp.science.evaluators import judge
from haccp.science.evidence import Evidence, Reading
from haccp.science.heat.legal import LEGAL_PAIRS, LegalPair, Process
from haccp.science.units import to_si
from tests.plan.library.value_table import FOOD_CODE_A, FOOD_CODE_B, PLANS, ROWS, RULES, Plan, Row

TABLES = {"growth.food_code.a", "growth.food_code.b"}


def test_the_table_names_every_value_of_the_library(library: Library) -> None:
    typed = [row.id for row in ROWS] + [plan.id for plan in PLANS] + [rule[0] for rule in RULES] + sorted(TABLES)
    assert len(typed) == len(set(typed))
    assert set(typed) == set(library.values)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.id)
def test_a_value_stands_as_its_clause_has_it(library: Library, row: Row) -> None:
    value = library.values[row.id]
    assert (value.clause, value.known) == (row.clause, row.known)
    assert {part.name for part in value.parts} == set(row.numbers)
    for name, (comparator, number, unit) in row.numbers.items():
        _compare(value.part(name), comparator, number, unit)


def _compare(part: Part, comparator: str, number: object, unit: str) -> None:
    assert part.comparator == comparator
    if unit in ("months", "years"):
        assert part.period == (unit, number)
        assert part.low is not None
        days = part.low / 86_400
        assert isinstance(number, int)
        # A month has 28 to 31 days, a year 365 or 366: the longest is what is asked for.
        expected = {("months", 1): 31, ("months", 2): 62, ("months", 3): 92, ("months", 5): 153, ("months", 6): 184,
                    ("months", 10): 306, ("years", 1): 366, ("years", 2): 731}  # fmt: skip
        assert days == expected[unit, number]
        return
    numbers = number if isinstance(number, tuple) else (number,)
    assert part.unit == unit
    assert part.published == pytest.approx(numbers)
    stored = [to_si(part.quantity, float(each), unit) for each in numbers]
    assert [bound for bound in (part.low, part.high) if bound is not None] == pytest.approx(stored, rel=1e-4)


@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: plan.id)
def test_a_sampling_plan_stands_as_its_clause_has_it(library: Library, plan: Plan) -> None:
    value = library.values[plan.id]
    assert (value.clause, value.known) == (plan.clause, plan.known)
    sampling = value.sampling
    assert sampling is not None
    assert (sampling.organism, sampling.n, sampling.c) == (plan.organism, plan.n, plan.c)
    if plan.m == "absent":
        assert sampling.absent_in == "25 g"
        assert (sampling.m, sampling.largest) == (None, None)
    else:
        assert (sampling.m, sampling.largest) == (plan.m, plan.largest)


@pytest.mark.parametrize(("value_id", "clause", "words"), RULES, ids=lambda text: text[:30])
def test_a_rule_in_words_says_what_its_clause_says(library: Library, value_id: str, clause: str, words: str) -> None:
    value = library.values[value_id]
    assert value.clause == clause
    assert words in value.rule
    assert not value.parts


# FDA Food Code 1-201.10, read in a state's copy: points on every side of every bound.
ROW_POINTS_B = {"below 0.88": (0.5, 0.879), "0.88 to 0.90": (0.88, 0.90), "above 0.90 to 0.92": (0.901, 0.92),
                "above 0.92": (0.921, 0.99)}  # fmt: skip
COLUMN_POINTS_B = ((3.5, 4.19), (4.2, 4.6), (4.61, 5.0), (5.01, 6.5))
ROW_POINTS_A = {"up to 0.92": (0.5, 0.92), "above 0.92 to 0.95": (0.921, 0.95), "above 0.95": (0.951, 0.99)}
COLUMN_POINTS_A = ((3.5, 4.6), (4.61, 5.6), (5.61, 6.5))


@pytest.mark.parametrize(
    ("value_id", "published", "row_points", "column_points"),
    [
        ("growth.food_code.a", FOOD_CODE_A, ROW_POINTS_A, COLUMN_POINTS_A),
        ("growth.food_code.b", FOOD_CODE_B, ROW_POINTS_B, COLUMN_POINTS_B),
    ],
)
def test_the_food_code_tables_cell_by_cell(
    library: Library,
    value_id: str,
    published: dict[str, list[str]],
    row_points: dict[str, tuple[float, float]],
    column_points: tuple[tuple[float, float], ...],
) -> None:
    table = library.values[value_id].table
    assert table is not None
    for row, cells in published.items():
        for column, expected in enumerate(cells):
            for aw in row_points[row]:
                for ph in column_points[column]:
                    assert table.cell(aw, ph) == expected, (aw, ph)


def _pair(value: Value) -> tuple[float | None, float | None]:
    return value.part("temperature").low, value.part("hold").low


def _expected(pair: LegalPair, jurisdiction: str) -> tuple[str, str, float, float]:
    subject = "thermisation" if pair.process is Process.THERMISATION else "pasteurisation"
    return jurisdiction, subject, pair.temperature_c, pair.hold_s


def test_every_legal_pair_that_recordings_are_judged_by_is_in_the_library(library: Library) -> None:
    """Two places hold the law: haccp.science.heat.legal for judging, the library for planning. They agree."""
    held = {
        (jurisdiction, value.subject, *_pair(value))
        for value in library.values.values()
        if value.subject in ("pasteurisation", "thermisation") and value.parts and not value.effective_to
        for jurisdiction in value.jurisdictions
        if value.force == "floor"
    }
    law = {_expected(each, pair.jurisdiction) for pair in LEGAL_PAIRS for each in (pair, pair.bumped())}
    assert held == law
    # How each text is known is said the same in both.
    known = {
        (jurisdiction, *_pair(value)): value.known
        for value in library.values.values()
        if value.force == "floor" and value.subject in ("pasteurisation", "thermisation") and value.parts
        and not value.effective_to
        for jurisdiction in value.jurisdictions
    }  # fmt: skip
    for pair in LEGAL_PAIRS:
        assert known[pair.jurisdiction, pair.temperature_c, pair.hold_s] == pair.known, pair


def test_the_rise_for_rich_milk_is_on_two_rows_in_federal_law_and_on_all_in_michigan(library: Library) -> None:
    """21 CFR 1240.61(b) footnote 1 stands on 63 and 72 °C; MCL 288.697 raises every row."""
    rich = [value.id for value in library.values.values() if value.id.endswith(".rich")]
    assert sorted(name for name in rich if name.startswith("heat.us.")) == ["heat.us.63c.rich", "heat.us.72c.rich"]
    assert len([name for name in rich if name.startswith("heat.us-mi.")]) == 7


def test_every_ready_limit_gives_a_verdict_on_both_sides(library: Library, moment: object) -> None:
    """A number a little inside and a little outside the published one is met and breached."""
    judged = 0
    for value in library.values.values():
        for ready in value.limits:
            limit = ready.limit
            if limit.evaluator != "reading":
                continue
            bound = limit.low if limit.low is not None else limit.high
            assert bound is not None
            step = max(abs(bound) * 1e-3, 1e-9) * (1 if limit.low is not None else -1)
            for inside, expected in ((True, "met"), (False, "breached")):
                number = bound + (step if inside else -step)
                verdict = judge(limit, Evidence(readings=(Reading(moment, value=number),)))  # type: ignore[arg-type]
                assert verdict.ruling in ({"met", "close"} if inside else {expected}), (value.id, ready.key, number)
                judged += 1
    assert judged > 150

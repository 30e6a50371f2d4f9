"""Readings and answers against their limits."""

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.evaluators import judge
from haccp.science.evidence import Evidence, Reading
from haccp.science.limit import Comparator, Limit
from haccp.science.ruling import Ruling, Verdict
from tests.science.evidence_factory import SEVERITY, START, at_hours

COLD = Limit("temperature", "reading", Comparator.AT_MOST, high=8.0, target_high=6.0)
ROOM = Limit("temperature", "reading", Comparator.BETWEEN, low=10.0, high=14.0, target_low=11.0, target_high=13.0)
HOT = Limit("temperature", "reading", Comparator.AT_LEAST, low=77.0)
RESIDUES = Limit("answer", "answer", Comparator.ONE_OF, accepted=("negative",))
UNFIT = "calibration ran out on 2026-03-01"


def rule(limit: Limit, *readings: Reading) -> Verdict:
    return judge(limit, Evidence(readings=readings))


@pytest.mark.parametrize(
    ("limit", "value", "ruling", "margin"),
    [
        (COLD, 5.0, Ruling.MET, 3.0),
        (COLD, 6.0, Ruling.MET, 2.0),
        (COLD, 6.1, Ruling.CLOSE, 1.9),
        (COLD, 8.0, Ruling.CLOSE, 0.0),
        (COLD, 8.01, Ruling.BREACHED, -0.01),
        (ROOM, 12.0, Ruling.MET, 2.0),
        (ROOM, 10.5, Ruling.CLOSE, 0.5),
        (ROOM, 13.5, Ruling.CLOSE, 0.5),
        (ROOM, 9.0, Ruling.BREACHED, -1.0),
        (ROOM, 15.0, Ruling.BREACHED, -1.0),
        (HOT, 77.0, Ruling.MET, 0.0),
        (HOT, 76.9, Ruling.BREACHED, -0.1),
    ],
)
def test_a_reading_is_ruled_by_its_distance(limit: Limit, value: float, ruling: Ruling, margin: float) -> None:
    verdict = rule(limit, at_hours(0, value))

    assert verdict.ruling is ruling
    assert verdict.margin == pytest.approx(margin)


@pytest.mark.parametrize(
    ("limit", "reading", "sentence"),
    [
        (COLD, at_hours(0, 5.0), "Temperature 5.0 °C; it must be at most 8.0 °C. 3.0 °C to spare."),
        (
            COLD,
            at_hours(0, 7.0),
            "Temperature 7.0 °C; it must be at most 8.0 °C. 1.0 °C to spare, but past the target of 6.0 °C.",
        ),
        (COLD, at_hours(0, 8.4), "Temperature 8.4 °C; it must be at most 8.0 °C. 0.4 °C too high."),
        (COLD, at_hours(0, 8.01), "Temperature 8.01 °C; it must be at most 8.00 °C. 0.01 °C too high."),
        (ROOM, at_hours(0, 9.0), "Temperature 9.0 °C; it must be between 10.0 °C and 14.0 °C. 1.0 °C too low."),
        (
            COLD,
            at_hours(0, 5.0, unfit=UNFIT),
            "Temperature 5.0 °C; it must be at most 8.0 °C. That would do, but the instrument cannot be relied on: "
            "calibration ran out on 2026-03-01.",
        ),
        (
            COLD,
            at_hours(0, 7.9, uncertainty=0.3),
            "Temperature 7.9 °C; it must be at most 8.0 °C. 0.1 °C to spare is too little to be sure: the "
            "instrument may be off by 0.30 °C, so 0.25 °C are needed.",
        ),
        (
            replace(COLD, unit="°F"),
            at_hours(0, 5.0),
            "Temperature 41.0 °F; it must be at most 46.4 °F. 5.4 °F to spare.",
        ),
        (
            Limit("ph", "reading", Comparator.AT_MOST, high=5.3),
            at_hours(0, 5.42),
            "pH 5.42; it must be at most pH 5.30. 0.12 pH units too high.",
        ),
    ],
)
def test_the_sentence_has_the_numbers(limit: Limit, reading: Reading, sentence: str) -> None:
    assert rule(limit, reading).reason == sentence


def test_a_reading_nearer_than_the_guard_band_is_unproven() -> None:
    # JCGM 106:2012, clause 8: g = 1.645·U/2; U = 0.4 gives 0.329
    assert rule(HOT, at_hours(0, 77.32, uncertainty=0.4)).ruling is Ruling.UNPROVEN
    assert rule(HOT, at_hours(0, 77.33, uncertainty=0.4)).ruling is Ruling.MET


def test_an_unfit_instrument_does_not_excuse_a_breach() -> None:
    assert rule(COLD, at_hours(0, 9.0, unfit=UNFIT)).ruling is Ruling.BREACHED
    assert rule(COLD, at_hours(0, 5.0, unfit=UNFIT)).ruling is Ruling.UNPROVEN


def test_the_worst_of_several_readings_rules_and_is_named() -> None:
    verdict = rule(
        COLD,
        replace(at_hours(0, 5.0), label="top shelf"),
        replace(at_hours(0, 8.4), label="bottom shelf"),
        replace(at_hours(0, 4.0, unfit=UNFIT), label="door"),
    )

    assert verdict.ruling is Ruling.BREACHED
    assert verdict.facts["label"] == "bottom shelf"
    assert verdict.reason == (
        "Bottom shelf 8.4 °C (the worst of 3 readings); it must be at most 8.0 °C. 0.4 °C too high."
    )


def test_an_unproven_reading_outranks_a_close_one() -> None:
    assert rule(COLD, at_hours(0, 7.5), at_hours(0, 1.0, unfit=UNFIT)).ruling is Ruling.UNPROVEN


@pytest.mark.parametrize("value", [None, float("nan"), float("inf"), float("-inf")])
def test_no_value_is_never_met(value: float | None) -> None:
    verdict = rule(COLD, at_hours(0, 5.0), Reading(START, value, label="core"))

    assert (verdict.ruling, verdict.code, verdict.margin) == (Ruling.UNPROVEN, "reading.no_value", None)


def test_no_reading_is_unproven() -> None:
    assert rule(COLD).ruling is Ruling.UNPROVEN
    assert rule(RESIDUES).ruling is Ruling.UNPROVEN


def test_the_noise_of_a_unit_conversion_is_not_a_breach() -> None:
    limit = Limit("temperature", "reading", Comparator.AT_LEAST, low=(145 - 32) * 5 / 9)

    assert rule(limit, at_hours(0, 145 * 5 / 9 + -32 * 5 / 9)).ruling is Ruling.MET


@given(st.floats(-5, 20), st.floats(0, 3), st.floats(0, 3), st.sampled_from([COLD, ROOM, HOT]))
def test_less_uncertainty_never_worsens_a_ruling(value: float, one: float, other: float, limit: Limit) -> None:
    less, more = (SEVERITY.index(rule(limit, at_hours(0, value, uncertainty=u)).ruling) for u in sorted((one, other)))

    assert less <= more


@given(st.floats(-5, 20), st.floats(0, 3), st.sampled_from([COLD, ROOM]))
def test_facts_can_be_stored_as_json(value: float, uncertainty: float, limit: Limit) -> None:
    verdict = rule(limit, at_hours(0, value, uncertainty=uncertainty))

    assert json.loads(json.dumps(verdict.facts, allow_nan=False)) == verdict.facts


def answered(choice: str | None, *, label: str = "", unfit: str | None = None) -> Reading:
    return Reading(START, choice=choice, label=label, unfit=unfit)


def test_an_accepted_answer_is_met() -> None:
    verdict = rule(RESIDUES, answered("negative"))

    assert (verdict.ruling, verdict.reason) == (Ruling.MET, "The answer: “negative”, as needed.")


def test_any_answer_that_is_not_accepted_is_a_breach() -> None:
    verdict = rule(RESIDUES, answered("negative"), answered("positive", label="Tank 2"), answered(None))

    assert verdict.ruling is Ruling.BREACHED
    assert verdict.reason == "Tank 2: “positive”; “negative” is needed."


def test_a_missing_or_unreliable_answer_is_unproven() -> None:
    assert rule(RESIDUES, answered("negative"), answered(None)).code == "answer.missing"
    assert rule(RESIDUES, answered("negative", unfit="the test kit is out of date")).code == "answer.unfit"
    assert rule(RESIDUES, answered("positive", unfit="the test kit is out of date")).ruling is Ruling.BREACHED


@pytest.mark.parametrize("uncertainty", [-0.1, float("nan"), float("inf")])
def test_an_impossible_uncertainty_cannot_be_laid_before_a_limit(uncertainty: float) -> None:
    with pytest.raises(ValueError, match="finite number"):
        at_hours(0, 5.0, uncertainty=uncertainty)


def test_a_missing_value_outranks_a_doubtful_one() -> None:
    assert rule(COLD, at_hours(0, 5.0, unfit=UNFIT), Reading(START, None)).code == "reading.no_value"

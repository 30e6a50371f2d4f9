"""Growth by the gamma model."""

import dataclasses
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.errors import InputError
from haccp.science.growth.cardinal import Cardinal, gamma, interaction, phi
from haccp.science.growth.history import GrowthAdvice, grow, range_sentence, rate_log10_per_h
from haccp.science.growth.organisms import ORGANISMS
from haccp.science.ruling import Ruling, Verdict

LISTERIA = ORGANISMS["listeria_monocytogenes"]
STAPHYLOCOCCUS = ORGANISMS["staphylococcus_aureus"]


def test_gamma_and_xi_of_cold_milk() -> None:
    # Worked out by hand from Rosso 1995 and Le Marc 2002 with the cardinal values of Augustin 2005 (from memory)
    found = [float(gamma(4.0, LISTERIA.temperature)), float(gamma(6.7, LISTERIA.ph)), float(gamma(0.995, LISTERIA.aw))]
    phis = [phi(4.0, LISTERIA.temperature), phi(6.7, LISTERIA.ph), phi(0.995, LISTERIA.aw)]

    assert found == pytest.approx([0.03353, 0.97311, 0.98098], abs=1e-5)
    assert np.prod(found) == pytest.approx(0.03201, abs=1e-5)
    psi = sum(float(p) / (2 * np.prod([1 - float(q) for q in phis if q is not p])) for p in phis)
    assert psi == pytest.approx(0.3172, abs=1e-4)
    assert float(interaction(*phis)) == 1.0


def test_the_interaction_falls_from_one_half_to_one() -> None:
    # Le Marc 2002 (from memory): ξ = 2 (1 − ψ) between ψ = 0.5 and 1; with two factors ψ = φ₁ / (2 (1 − φ₂)) + ...
    one = np.array([0.5, 0.5])
    other = np.array([0.0, 0.2])
    psi = one / (2 * (1 - other)) + other / (2 * (1 - one))

    assert interaction(one, other).tolist() == pytest.approx(np.clip(2 * (1 - psi), 0, 1).tolist())
    assert float(interaction(np.array(1.0), np.array(0.5))) == 0.0


@given(st.sampled_from(sorted(ORGANISMS)), st.sampled_from(["temperature", "ph", "aw"]), st.floats(-10, 60))
def test_gamma_lies_between_nothing_and_one(name: str, factor: str, value: float) -> None:
    cardinal: Cardinal = getattr(ORGANISMS[name], factor)

    assert -1e-12 <= float(gamma(value, cardinal)) <= 1 + 1e-12
    assert float(gamma(cardinal.optimum, cardinal)) == pytest.approx(1.0)
    assert float(gamma(cardinal.lowest, cardinal)) == 0.0
    assert float(gamma(cardinal.highest, cardinal)) == 0.0


def test_steady_conditions_grow_by_rate_and_time() -> None:
    t = np.array([0.0, 6 * 3600.0])
    found = grow(STAPHYLOCOCCUS, t, np.full(2, 40.6), np.full(2, 7.0), np.full(2, 0.994))

    # μ_opt of Medveďová et al. 2019, 1.97 per hour: 6 h are 11.82 / ln 10 decades
    assert found.log10_increase == pytest.approx(6 * 1.97 / np.log(10), rel=1e-6)


def test_acid_curd_stops_staphylococcus() -> None:
    t = np.array([0.0, 3600.0])

    # ICMSF 1996 as quoted by the USDA: no growth at pH 4.0
    assert grow(STAPHYLOCOCCUS, t, np.full(2, 32.0), np.full(2, 4.0), np.full(2, 0.98)).log10_increase == 0.0


HISTORY = st.lists(
    st.tuples(st.floats(60, 20_000), st.floats(0, 40), st.floats(4.5, 7.0), st.floats(0.95, 0.99)),
    min_size=2,
    max_size=12,
)


def arrays(points: list[tuple[float, float, float, float]]) -> tuple[np.ndarray, ...]:
    table = np.array(points)
    return np.cumsum(table[:, 0]), table[:, 1], table[:, 2], table[:, 3]


@given(HISTORY, st.floats(0, 5), st.sampled_from(["listeria_monocytogenes", "escherichia_coli"]))
def test_warmer_never_grows_less_below_the_optimum(
    points: list[tuple[float, float, float, float]], rise: float, name: str
) -> None:
    t, celsius, ph, aw = arrays(points)
    organism = ORGANISMS[name]
    warmer = np.minimum(celsius + rise, organism.temperature.optimum)
    celsius = np.minimum(celsius, organism.temperature.optimum)

    cool = grow(organism, t, celsius, ph, aw).log10_increase

    assert grow(organism, t, warmer, ph, aw).log10_increase >= cool - 1e-9


@given(HISTORY, st.floats(0.1, 0.9))
def test_splitting_segments_changes_no_growth(points: list[tuple[float, float, float, float]], part: float) -> None:
    t, *factors = arrays(points)
    finer = np.sort(np.concatenate([t, t[:-1] + part * np.diff(t)]))
    whole = grow(LISTERIA, t, *factors)

    split = grow(LISTERIA, finer, *(np.interp(finer, t, f) for f in factors))

    assert split.log10_increase == pytest.approx(whole.log10_increase, rel=0.01, abs=2e-3)


@given(HISTORY)
def test_a_gap_never_lowers_the_growth_of_steady_conditions(points: list[tuple[float, float, float, float]]) -> None:
    t, celsius, _, _ = arrays(points)
    steady = [np.full(t.size, value) for value in (float(celsius[0]), 6.0, 0.98)]
    watched = grow(LISTERIA, t, *steady, max_gap_s=1e9)

    unseen = grow(LISTERIA, t, *steady, max_gap_s=1.0)

    assert unseen.log10_increase == pytest.approx(watched.log10_increase, abs=1e-9)
    assert unseen.unseen_s == pytest.approx(t[-1] - t[0])
    assert "Nobody watched" in unseen.caution


def test_the_range_is_always_said() -> None:
    for organism in ORGANISMS.values():
        assert organism.name in range_sentence(organism)
        assert organism.confidence in ("fair", "low")
    t = np.array([0.0, 3600.0])
    cold = grow(STAPHYLOCOCCUS, t, np.full(2, 4.0), np.full(2, 6.0), np.full(2, 0.98))
    assert cold.outside_s == pytest.approx(3600)
    assert "Advice only" in cold.caution


def test_advice_is_no_ruling_and_no_judgement_knows_it() -> None:
    kinds = {field.type for field in dataclasses.fields(GrowthAdvice)}
    assert kinds == {str, float}
    assert not issubclass(GrowthAdvice, Verdict | Ruling)
    code = "import sys, haccp.science.evaluators; print([m for m in sys.modules if 'science.growth' in m])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_rates_broadcast() -> None:
    assert rate_log10_per_h(LISTERIA, np.array([4.0, 10.0, 37.0]), 6.5, 0.98).shape == (3,)


@pytest.mark.parametrize(
    ("ph", "aw", "words"), [(46.0, 0.98, "cannot be"), (float("nan"), 0.98, "missing"), (6.0, 98.0, "cannot be")]
)
def test_impossible_histories_are_refused(ph: float, aw: float, words: str) -> None:
    t = np.array([0.0, 3600.0])
    with pytest.raises(InputError, match=words):
        grow(LISTERIA, t, np.full(2, 20.0), np.full(2, ph), np.full(2, aw))

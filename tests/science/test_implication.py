"""What a deviation implicates, against networkx and against exposures drawn by hand."""

from datetime import UTC, datetime, timedelta

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.errors import InputError
from haccp.science.implication import Exposure, interval_around, interval_since, reached
from haccp.science.ruling import Ruling

Link = tuple[int, int]
LINKS = st.lists(st.tuples(st.integers(0, 14), st.integers(0, 14)), max_size=40)
SEEDS = st.lists(st.integers(0, 14), max_size=4)


def graph_of(links: list[Link], seeds: list[int]) -> "nx.DiGraph[int]":
    graph: nx.DiGraph[int] = nx.DiGraph(links)
    graph.add_nodes_from(seeds)
    return graph


def reached_part(graph: "nx.DiGraph[int]", seeds: list[int]) -> "nx.DiGraph[int]":
    nodes = set(seeds).union(*(nx.descendants(graph, seed) for seed in seeds))
    return graph.subgraph(nodes)


@given(SEEDS, LINKS.map(lambda links: [(min(link), max(link)) for link in links if link[0] != link[1]]))
def test_the_same_lots_as_networkx_by_paths_that_exist_and_are_shortest(seeds: list[int], links: list[Link]) -> None:
    graph = graph_of(links, seeds)

    found = reached(seeds, links)

    assert set(found) == set(reached_part(graph, seeds))
    for node, path in found.items():
        assert path[0] in seeds
        assert path[-1] == node
        assert nx.is_path(graph, list(path))
        shortest = min(nx.shortest_path_length(graph, seed, node) for seed in seeds if nx.has_path(graph, seed, node))
        assert len(path) == shortest + 1


@given(SEEDS, LINKS)
def test_circles_are_refused_exactly_when_networkx_finds_one_within_reach(seeds: list[int], links: list[Link]) -> None:
    graph = graph_of(links, seeds)
    if nx.is_directed_acyclic_graph(reached_part(graph, seeds)):
        assert set(reached(seeds, links)) == set(reached_part(graph, seeds))
        return
    with pytest.raises(InputError) as refused:
        reached(seeds, links)
    circle = [int(name) for name in refused.value.problem.removesuffix(".").split(": ")[1].split(" → ")]
    assert circle[0] == circle[-1]
    assert nx.is_path(graph, circle)


def test_a_milk_lot_implicates_the_vats_and_the_batches_made_from_it_with_the_reason() -> None:
    links = [
        ("milk 12", "vat 1"),
        ("milk 12", "vat 2"),
        ("milk 13", "vat 3"),
        ("vat 1", "batch A"),
        ("vat 2", "batch A"),
        ("batch A", "grated 7"),
        ("vat 3", "grated 7"),
    ]
    assert reached(["milk 12"], links) == {
        "milk 12": ("milk 12",),
        "vat 1": ("milk 12", "vat 1"),
        "vat 2": ("milk 12", "vat 2"),
        "batch A": ("milk 12", "vat 1", "batch A"),
        "grated 7": ("milk 12", "vat 1", "batch A", "grated 7"),
    }
    back = reached(["grated 7"], [(child, parent) for parent, child in links])
    assert set(back) == {"grated 7", "batch A", "vat 1", "vat 2", "vat 3", "milk 12", "milk 13"}


def test_a_circle_is_named_in_the_direction_of_its_links() -> None:
    with pytest.raises(InputError) as refused:
        reached(["milk"], [("milk", "A"), ("A", "B"), ("B", "C"), ("C", "A")])
    assert refused.value.problem in {
        f"The links go round in a circle: {circle}." for circle in ("A → B → C → A", "B → C → A → B", "C → A → B → C")
    }
    assert refused.value.remedy == "Correct the one of these links that is wrong."


def test_a_lot_made_from_itself_is_a_circle() -> None:
    with pytest.raises(InputError, match="circle: A → A"):
        reached(["A"], [("A", "A")])


def test_a_long_chain_of_lots_is_followed_to_its_end() -> None:
    # Longer than Python's limit of recursion: back-slopped whey goes from day to day for years.
    links = [(day, day + 1) for day in range(3_000)]
    assert len(reached([0], links)[3_000]) == 3_001


NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


def test_the_exposure_begins_after_the_last_check_that_was_met() -> None:
    exposure = interval_since(NOON - 2 * HOUR, NOON, regained_at=NOON + HOUR)
    assert exposure == Exposure(after=NOON - 2 * HOUR, breach_at=NOON, until=NOON + HOUR)

    # At the very moments that control was proven a batch is not exposed; a moment inside, it is.
    instant = timedelta(microseconds=1)
    for moment, exposed in (
        (NOON - 2 * HOUR, False),
        (NOON - 2 * HOUR + instant, True),
        (NOON, True),
        (NOON + HOUR - instant, True),
        (NOON + HOUR, False),
    ):
        assert exposure.covers(moment, moment) is exposed, moment


@pytest.mark.parametrize(
    ("began", "ended", "exposed"),
    [
        (-4, -3, False),
        (-4, -2, False),
        (-4, -1, True),
        (-4, 4, True),
        (-1, 0, True),
        (0.5, 4, True),
        (1, 4, False),
        (-4, None, True),
        (2, None, False),
    ],
)
def test_a_make_is_exposed_when_any_part_of_it_is(began: float, ended: float | None, exposed: bool) -> None:
    exposure = interval_since(NOON - 2 * HOUR, NOON, regained_at=NOON + HOUR)
    assert exposure.covers(NOON + began * HOUR, None if ended is None else NOON + ended * HOUR) is exposed


def test_without_a_check_that_was_met_the_exposure_has_no_beginning_and_without_a_later_one_no_end() -> None:
    exposure = interval_since(None, NOON)
    for moment in (NOON - 10_000 * HOUR, NOON, NOON + 10_000 * HOUR):
        assert exposure.covers(moment, moment)


def test_unproven_and_awaited_checks_prove_nothing_on_either_side() -> None:
    rulings = [
        (NOON + 3 * HOUR, Ruling.CLOSE),
        (NOON + 4 * HOUR, Ruling.MET),
        (NOON + HOUR, Ruling.UNPROVEN),
        (NOON + 2 * HOUR, Ruling.BREACHED),
        (NOON, Ruling.BREACHED),
        (NOON - HOUR, Ruling.UNPROVEN),
        (NOON - 2 * HOUR, Ruling.AWAITED),
        (NOON - 3 * HOUR, Ruling.MET),
        (NOON - 4 * HOUR, Ruling.MET),
    ]
    expected = interval_since(NOON - 3 * HOUR, NOON, regained_at=NOON + 3 * HOUR)
    assert interval_around(NOON, rulings) == expected
    assert interval_around(NOON, rulings[2:7]) == interval_since(None, NOON)


def test_a_check_met_at_the_moment_of_the_breach_proves_nothing() -> None:
    assert interval_around(NOON, [(NOON, Ruling.MET)]) == interval_since(None, NOON)


NAIVE = datetime(2026, 3, 2, 12)  # noqa: DTZ001


@pytest.mark.parametrize(
    ("last_met_at", "breach_at", "regained_at", "problem"),
    [
        (NOON, NOON, None, "The last check that was met is not before the breach."),
        (None, NOON, NOON, "Control is said to be regained before the breach."),
        (NAIVE, NOON, None, "A time of the breach has no time zone."),
        (None, NAIVE, None, "A time of the breach has no time zone."),
    ],
)
def test_times_out_of_order_or_without_a_zone_are_refused_with_a_sentence(
    last_met_at: datetime | None, breach_at: datetime, regained_at: datetime | None, problem: str
) -> None:
    with pytest.raises(InputError) as refused:
        interval_since(last_met_at, breach_at, regained_at=regained_at)
    assert refused.value.problem == problem
    assert refused.value.remedy


def test_a_ruling_without_a_zone_is_refused_with_a_sentence() -> None:
    with pytest.raises(InputError, match="no time zone"):
        interval_around(NOON, [(NAIVE, Ruling.MET)])

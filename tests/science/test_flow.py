"""The flow of steps against NetworkX, a general-purpose graph library."""

import itertools
import random

import networkx as nx
import pytest

from haccp.science.flow import (
    FlowGraph,
    FlowLink,
    LinkKind,
    cycles,
    dead_ends,
    later_steps,
    layers,
    off_the_diagram,
    unreachable,
)


def random_graph(seed: int) -> FlowGraph:
    chance = random.Random(seed)  # noqa: S311  not for secrets
    steps = tuple(f"s{number}" for number in range(chance.randint(1, 14)))
    links = tuple(
        FlowLink(chance.choice(steps), chance.choice(steps), chance.choice(list(LinkKind)))
        for _ in range(chance.randint(0, 22))
    )
    return FlowGraph(steps, links)


def as_networkx(graph: FlowGraph) -> nx.DiGraph:
    made = nx.DiGraph()
    made.add_nodes_from(graph.steps)
    made.add_edges_from((link.start, link.end) for link in graph.links if link.kind is not LinkKind.REWORK)
    return made


@pytest.mark.parametrize("seed", range(200))
def test_cycles_reach_and_order_agree_with_networkx(seed: int) -> None:
    graph = random_graph(seed)
    reference = as_networkx(graph)
    knots = {
        frozenset(knot)
        for knot in nx.strongly_connected_components(reference)
        if len(knot) > 1 or reference.has_edge(*(list(knot) * 2))
    }
    starts, ends = graph.steps[:1], graph.steps[-1:]

    assert {frozenset(knot) for knot in cycles(graph)} == knots
    assert bool(cycles(graph)) != nx.is_directed_acyclic_graph(reference)
    reached = {starts[0], *nx.descendants(reference, starts[0])}
    assert unreachable(graph, starts) == [step for step in graph.steps if step not in reached]
    alive = {ends[0], *nx.ancestors(reference, ends[0])}
    assert dead_ends(graph, ends) == [step for step in graph.steps if step not in alive]
    assert later_steps(graph, starts[0]) - {starts[0]} == nx.descendants(reference, starts[0])


@pytest.mark.parametrize("seed", range(200))
def test_layers_of_an_acyclic_flow_are_the_longest_paths_of_networkx(seed: int) -> None:
    graph = random_graph(seed)
    reference = as_networkx(graph)
    if not nx.is_directed_acyclic_graph(reference):
        assert sorted(step for layer in layers(graph) for step in layer) == sorted(graph.steps)
        return
    depth: dict[str, int] = {}
    for step in nx.topological_sort(reference):
        depth[step] = max((depth[before] + 1 for before in reference.predecessors(step)), default=0)

    assert {step: rank for rank, layer in enumerate(layers(graph)) for step in layer} == depth


def test_rework_is_no_cycle_and_no_way_out() -> None:
    graph = FlowGraph(
        ("receive", "press", "pack"),
        (FlowLink("receive", "press"), FlowLink("press", "pack"), FlowLink("pack", "press", LinkKind.REWORK)),
    )

    assert cycles(graph) == []
    assert dead_ends(graph, ["pack"]) == []
    assert off_the_diagram(graph) == []


def test_a_step_that_no_link_touches_is_off_the_diagram() -> None:
    graph = FlowGraph(("receive", "press", "wax"), (FlowLink("receive", "press"),))

    assert off_the_diagram(graph) == ["wax"]


def test_a_very_long_flow_needs_no_recursion() -> None:
    steps = tuple(str(number) for number in range(5000))
    links = tuple(FlowLink(one, other) for one, other in itertools.pairwise(steps))

    assert cycles(FlowGraph(steps, links)) == []
    assert len(cycles(FlowGraph(steps, (*links, FlowLink("4999", "0"))))) == 1

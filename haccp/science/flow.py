"""A flow of steps as a graph: what is wrong with it, and the order of its steps. Every function is linear.

A rework link leads back on purpose; every other cycle is a mistake.
"""

from collections import defaultdict, deque
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property


class LinkKind(StrEnum):
    FLOW = "flow"
    BRANCH = "branch"  # one of several ways on
    REWORK = "rework"  # product taken back to an earlier step
    WASTE = "waste"  # what leaves the product: whey, trimmings, rejected cheese


@dataclass(frozen=True, slots=True)
class FlowLink:
    start: str
    end: str
    kind: LinkKind = LinkKind.FLOW


@dataclass(frozen=True)
class FlowGraph:
    """steps: keys, in the order in which people name them. Links of steps that are not named are left out."""

    steps: tuple[str, ...]
    links: tuple[FlowLink, ...]

    @cached_property
    def forward(self) -> dict[str, list[str]]:
        """Step -> the steps that follow it, rework apart."""
        return self._neighbours(backwards=False)

    @cached_property
    def backward(self) -> dict[str, list[str]]:
        return self._neighbours(backwards=True)

    def _neighbours(self, *, backwards: bool) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {step: [] for step in self.steps}
        for link in self.links:
            if link.kind is not LinkKind.REWORK and link.start in found and link.end in found:
                start, end = (link.end, link.start) if backwards else (link.start, link.end)
                found[start].append(end)
        return found


def cycles(graph: FlowGraph) -> list[tuple[str, ...]]:
    """The knots of the flow, rework apart: each a set of steps that lead back to one another, in the graph's order.

    Tarjan, Depth-first search and linear graph algorithms, SIAM J. Comput. 1 (1972) 146; without recursion.
    """
    index: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    on_stack: set[str] = set()
    knots: list[tuple[str, ...]] = []
    place = {step: number for number, step in enumerate(graph.steps)}
    for root in graph.steps:
        if root in index:
            continue
        work = [(root, iter(graph.forward[root]))]
        index[root] = low[root] = len(index)
        stack.append(root)
        on_stack.add(root)
        while work:
            step, following = work[-1]
            for other in following:
                if other not in index:
                    index[other] = low[other] = len(index)
                    stack.append(other)
                    on_stack.add(other)
                    work.append((other, iter(graph.forward[other])))
                    break
                if other in on_stack:
                    low[step] = min(low[step], index[other])
            else:
                work.pop()
                if work:
                    low[work[-1][0]] = min(low[work[-1][0]], low[step])
                if low[step] == index[step]:
                    knot = _unwind(stack, on_stack, step)
                    if len(knot) > 1 or step in graph.forward[step]:
                        knots.append(tuple(sorted(knot, key=place.__getitem__)))
    return sorted(knots, key=lambda knot: place[knot[0]])


def _unwind(stack: list[str], on_stack: set[str], until: str) -> list[str]:
    knot = []
    while True:
        step = stack.pop()
        on_stack.discard(step)
        knot.append(step)
        if step == until:
            return knot


def reached_from(graph: FlowGraph, starts: Iterable[str]) -> set[str]:
    """Steps that the flow reaches from these, themselves among them; rework apart."""
    return _walk(graph.forward, starts)


def leading_to(graph: FlowGraph, ends: Iterable[str]) -> set[str]:
    """Steps from which the flow reaches one of these, themselves among them; rework apart."""
    return _walk(graph.backward, ends)


def _walk(neighbours: dict[str, list[str]], starts: Iterable[str]) -> set[str]:
    seen = {step for step in starts if step in neighbours}
    waiting = deque(seen)
    while waiting:
        for other in neighbours[waiting.popleft()]:
            if other not in seen:
                seen.add(other)
                waiting.append(other)
    return seen


def dead_ends(graph: FlowGraph, ends: Iterable[str]) -> list[str]:
    """Steps from which no end can be reached. ends: where product or waste leaves."""
    alive = leading_to(graph, ends)
    return [step for step in graph.steps if step not in alive]


def unreachable(graph: FlowGraph, starts: Iterable[str]) -> list[str]:
    """Steps that nothing leads to. starts: where something comes in."""
    reached = reached_from(graph, starts)
    return [step for step in graph.steps if step not in reached]


def off_the_diagram(graph: FlowGraph) -> list[str]:
    """Steps that no link touches; none where the flow is of a single step."""
    if len(graph.steps) < 2:
        return []
    touched = {end for link in graph.links for end in (link.start, link.end)}
    return [step for step in graph.steps if step not in touched]


def layers(graph: FlowGraph) -> list[list[str]]:
    """Steps by rank: each stands below all that lead to it. Steps in a knot stand where the order given puts them."""
    place = {step: number for number, step in enumerate(graph.steps)}
    knotted = {step for knot in cycles(graph) for step in knot}

    def goes_down(start: str, end: str) -> bool:
        return not (start in knotted and end in knotted) or place[start] < place[end]

    waiting_for: dict[str, int] = dict.fromkeys(graph.steps, 0)
    for start, ends in graph.forward.items():
        for end in ends:
            waiting_for[end] += goes_down(start, end)
    rank = dict.fromkeys(graph.steps, 0)
    ready = deque(step for step in graph.steps if not waiting_for[step])
    while ready:
        step = ready.popleft()
        for end in graph.forward[step]:
            if goes_down(step, end):
                rank[end] = max(rank[end], rank[step] + 1)
                waiting_for[end] -= 1
                if not waiting_for[end]:
                    ready.append(end)
    found: dict[int, list[str]] = defaultdict(list)
    for step in graph.steps:
        found[rank[step]].append(step)
    return [found[number] for number in sorted(found)]


def later_steps(graph: FlowGraph, step: str) -> set[str]:
    """What comes after a step on the flow, itself left out unless it stands in a knot."""
    return reached_from(graph, graph.forward.get(step, []))

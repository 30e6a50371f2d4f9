"""Where the steps of a flow stand: rows from top to bottom, columns within a row, ways round the boxes.

A layered drawing after Sugiyama, Tagawa and Toda, IEEE Trans. Syst. Man Cybern. 11 (1981) 109: steps in rows by
rank, a place kept in each row that a link passes, and neighbours ordered by the average place of what they are
linked to.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from haccp.science.flow import FlowGraph, FlowLink, LinkKind, layers

SWEEPS = 6


@dataclass(frozen=True, slots=True)
class Passage:
    """A place in a row that a link passes on its way to a later row."""

    link: int
    row: int


Place = str | Passage


@dataclass(frozen=True, slots=True)
class Arrangement:
    """rows: steps and passages from left to right. ways: index of link -> the places that it touches, top to bottom.

    back: indices of the links that lead up or stay in a row; they run at the side.
    """

    rows: tuple[tuple[Place, ...], ...]
    ways: Mapping[int, tuple[Place, ...]]
    back: tuple[int, ...]


def arrange(graph: FlowGraph, widest: int) -> Arrangement:
    """widest: most steps in one row; longer rows are broken."""
    rows = [row for layer in layers(graph) for row in _broken(layer, widest)]
    row_of = {step: number for number, row in enumerate(rows) for step in row}
    ways: dict[int, tuple[Place, ...]] = {}
    back = []
    places: list[list[Place]] = [list(row) for row in rows]
    for number, link in enumerate(graph.links):
        top, bottom = row_of[link.start], row_of[link.end]
        if link.kind is LinkKind.REWORK or bottom <= top:
            back.append(number)
            continue
        passages = [Passage(number, row) for row in range(top + 1, bottom)]
        for passage in passages:
            places[passage.row].append(passage)
        ways[number] = (link.start, *passages, link.end)
    return Arrangement(tuple(map(tuple, _untangled(places, ways))), ways, tuple(back))


def _broken(layer: Sequence[str], widest: int) -> list[list[str]]:
    """Rows of nearly equal length."""
    count = -(-len(layer) // widest)
    size = -(-len(layer) // count)
    return [list(layer[start : start + size]) for start in range(0, len(layer), size)]


def _untangled(rows: list[list[Place]], ways: Mapping[int, tuple[Place, ...]]) -> list[list[Place]]:
    above: dict[Place, list[Place]] = defaultdict(list)
    below: dict[Place, list[Place]] = defaultdict(list)
    for way in ways.values():
        for upper, lower in pairwise(way):
            below[upper].append(lower)
            above[lower].append(upper)
    for sweep in range(SWEEPS):
        neighbours, order = (above, rows) if sweep % 2 == 0 else (below, rows[::-1])
        for row in order:
            _sort(row, neighbours, {place: i / max(len(other), 1) for other in rows for i, place in enumerate(other)})
    return rows


def _sort(row: list[Place], neighbours: Mapping[Place, list[Place]], at: Mapping[Place, float]) -> None:
    def average(place: Place) -> float:
        linked = neighbours.get(place, [])
        return sum(at[other] for other in linked) / len(linked) if linked else at[place]

    row.sort(key=average)


def graph_of(steps: Sequence[str], links: Sequence[tuple[str, str, LinkKind]]) -> FlowGraph:
    return FlowGraph(tuple(steps), tuple(FlowLink(*link) for link in links))

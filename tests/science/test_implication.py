"""What a breach may have touched, against networkx over the same contacts unrolled in time."""

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.errors import InputError
from haccp.science.implication import Contact, spread

ZERO = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)
LATEST = 9


def hour(number: int) -> datetime:
    return ZERO + timedelta(hours=number)


@st.composite
def contacts(draw: st.DrawFn) -> Contact[int]:
    ended = draw(st.none() | st.integers(0, LATEST))
    node = st.integers(0, 9)
    return Contact(draw(node), draw(node), hour(draw(st.integers(0, LATEST))), None if ended is None else hour(ended))


CONTACTS = st.lists(contacts(), max_size=40)
SEEDS = st.dictionaries(st.integers(0, 9), st.integers(0, LATEST).map(hour), max_size=3)


def asking(known: Iterable[Contact[int]], rounds: list[int]):  # type: ignore[no-untyped-def]
    def contacts_of(asked: Mapping[int, datetime]) -> list[Contact[int]]:
        rounds.append(len(asked))
        return [one for one in known if one.source in asked]

    return contacts_of


def earliest_by_networkx(seeds: Mapping[int, datetime], known: Iterable[Contact[int]]) -> dict[int, datetime]:
    """One node for each thing at each hour, an edge to the next hour, and an edge for each hour of each contact."""
    hours = range(LATEST + 1)
    graph: nx.DiGraph[tuple[int, int]] = nx.DiGraph()
    for thing in range(10):
        nx.add_path(graph, [(thing, at) for at in hours])
    for one in known:
        for at in hours:
            if one.ended is None or hour(at) <= one.ended:
                begun = round((one.begun - ZERO).total_seconds() / 3600)
                graph.add_edge((one.source, at), (one.target, max(at, begun)))
    starts = [(thing, round((at - ZERO).total_seconds() / 3600)) for thing, at in seeds.items()]
    reached = set(starts).union(*(nx.descendants(graph, start) for start in starts))
    return {thing: hour(min(at for other, at in reached if other == thing)) for thing, _ in reached}


@given(SEEDS, CONTACTS)
def test_the_same_things_from_the_same_moment_as_networkx(
    seeds: dict[int, datetime], known: list[Contact[int]]
) -> None:
    found = spread(seeds, asking(known, []))
    assert {node: reached.at for node, reached in found.items()} == earliest_by_networkx(seeds, known)


@given(SEEDS, CONTACTS)
def test_every_reason_is_a_contact_that_could_pass(seeds: dict[int, datetime], known: list[Contact[int]]) -> None:
    found = spread(seeds, asking(known, []))
    for node, reached in found.items():
        if reached.by is None:
            assert reached.at == seeds[node]
        else:
            assert reached.by in known
            assert reached.by.target == node
            assert reached.by.passes(found[reached.by.source].at) == reached.at


@given(SEEDS, CONTACTS, contacts())
def test_one_contact_more_never_clears_anything(
    seeds: dict[int, datetime], known: list[Contact[int]], more: Contact[int]
) -> None:
    before, after = spread(seeds, asking(known, [])), spread(seeds, asking([*known, more], []))
    assert all(after[node].at <= reached.at for node, reached in before.items())


def test_a_vat_that_was_cleaned_before_the_breach_passes_nothing_on_and_a_brine_does_from_then_on() -> None:
    known = [
        Contact("early", "brine", hour(1), hour(3), "early was laid in it"),
        Contact("brine", "early", hour(1), hour(3), "lay in brine"),
        Contact("late", "brine", hour(4), None, "late was laid in it"),
        Contact("brine", "late", hour(4), None, "lay in brine"),
        Contact("brine", "next", hour(6), None, "lay in brine"),
    ]
    found = spread({"late": hour(5)}, lambda asked: [one for one in known if one.source in asked])
    assert {node: reached.at for node, reached in found.items()} == {
        "late": hour(5), "brine": hour(5), "next": hour(6),
    }  # fmt: skip
    assert found["next"].by is not None
    assert found["next"].by.why == "lay in brine"


def test_a_circle_ends_and_a_database_is_asked_once_a_round() -> None:
    known = [Contact(a, b, hour(0), None) for a, b in ((1, 2), (2, 3), (3, 1), (1, 4), (4, 5))]
    rounds: list[int] = []
    assert set(spread({1: hour(0)}, asking(known, rounds))) == {1, 2, 3, 4, 5}
    assert rounds == [1, 2, 2]


def test_naive_times_are_refused() -> None:
    with pytest.raises(InputError, match="no time zone"):
        spread({1: hour(0).replace(tzinfo=None)}, lambda asked: [])

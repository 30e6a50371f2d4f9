"""Closures and balances on random graphs, against networkx."""

import random
from datetime import UTC, datetime, timedelta
from uuid import UUID

import networkx as nx
import pytest

from batches.tracing import actions as tracing
from batches.tracing.amounts import balances, left_of, yield_of
from haccp.lots import actions as lots
from haccp.lots import closure
from haccp.lots.models import Lot, LotLink
from haccp.lots.queries import descendants_of
from haccp.premises.errors import ActionError
from haccp.premises.scope import Scope
from tests.dairy import Dairy, open_dairy

pytestmark = pytest.mark.django_db
AT = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def graph_of_lots(dairy: Dairy, count: int, links: int, seed: int) -> tuple[nx.DiGraph, list[Lot]]:
    """A random graph without circles: each link leads from an earlier lot to a later one."""
    chance = random.Random(seed)  # noqa: S311  (a test's graph, nothing secret)
    made = Lot.objects.bulk_create(
        Lot(
            premises=dairy.owner.premises, kind="milk", code=f"{seed}-{n}", revision=dairy.revision,
            begun_at=AT + timedelta(minutes=n), recorded_by=dairy.maker.user,
        )
        for n in range(count)
    )  # fmt: skip
    graph = nx.DiGraph()
    graph.add_nodes_from(lot.pk for lot in made)
    for _ in range(links):
        one, other = sorted(chance.sample(range(count), 2))
        graph.add_edge(made[one].pk, made[other].pk, amount=chance.randint(1, 50))
    LotLink.objects.bulk_create(
        LotLink(parent_id=parent, child_id=child, amount=float(data["amount"]), unit="L")
        for parent, child, data in graph.edges(data=True)
    )
    return graph, made


@pytest.mark.parametrize(("count", "links"), [(12, 8), (60, 150), (120, 900)])
def test_closures_are_those_of_networkx(dairy: Dairy, count: int, links: int) -> None:
    graph, made = graph_of_lots(dairy, count, links, seed=count)
    for lot in made[:: max(1, count // 12)]:
        assert closure.descendants([lot.pk]) == nx.descendants(graph, lot.pk)
        assert closure.ancestors([lot.pk]) == nx.ancestors(graph, lot.pk)
    seeds = [lot.pk for lot in made[:3]]
    below: set[UUID] = set().union(*(nx.descendants(graph, seed) for seed in seeds))
    assert closure.descendants(seeds) == below
    parents = descendants_of(seeds)
    assert set(parents) == below - set(seeds)
    assert all(graph.has_edge(parent, child) for child, parent in parents.items())


def test_a_balance_is_what_flows_out_of_a_node(dairy: Dairy) -> None:
    graph, made = graph_of_lots(dairy, 40, 120, seed=7)
    found = balances(dairy.owner.premises, made)
    for lot in made:
        flows_out = sum(data["amount"] for _, _, data in graph.out_edges(lot.pk, data=True))
        assert found[lot.pk].accounted == pytest.approx(flows_out)
        assert found[lot.pk].unexplained is None  # nobody recorded how much there was


def test_no_link_closes_a_circle_whatever_the_graph(dairy: Dairy) -> None:
    """Every link from a descendant back to its ancestor is refused; every other one leaves the graph acyclic."""
    graph, made = graph_of_lots(dairy, 30, 60, seed=3)
    chance = random.Random(4)  # noqa: S311
    refused = 0
    for _ in range(120):
        one, other = chance.sample(made, 2)
        arguments = {"scope": dairy.maker, "parent": one, "child": other, "amount": 1.0, "unit": "L", "at": AT}
        if one.pk in nx.descendants(graph, other.pk):
            with pytest.raises(ActionError, match="was itself made from"):
                lots.link_add(**arguments)  # type: ignore[arg-type]
            refused += 1
        else:
            lots.link_add(**arguments)  # type: ignore[arg-type]
            graph.add_edge(one.pk, other.pk)
    assert refused > 10
    assert nx.is_directed_acyclic_graph(graph)
    with pytest.raises(ActionError, match="was itself made from"):
        lots.link_add(scope=dairy.maker, parent=made[0], child=made[0], amount=1.0, unit="L", at=AT)


def test_whey_blends_and_bad_amounts(dairy: Dairy) -> None:
    first, second = (dairy.receive_milk(at=AT + timedelta(minutes=n), volume="100") for n in (0, 1))
    blend_id, later = UUID(int=1), AT + timedelta(hours=1)

    def blend(scope: Scope, **litres: float) -> object:
        milk = {first.pk: litres["first"], second.pk: litres["second"]}
        return tracing.milk_blend(scope=scope, lot_id=blend_id, milk_l=milk, blended_at=later, now=later)

    with pytest.raises(ActionError, match=r"Only 100.0"):
        blend(dairy.maker, first=120, second=50)
    with pytest.raises(ActionError, match="at least two"):
        blend(dairy.maker, first=50, second=0)
    blended = blend(dairy.maker, first=60, second=50)
    assert blend(dairy.maker, first=60, second=50) == blended
    dairy.decide(blend_id, "accepted", at=later)
    make = dairy.start_make(at=later, milk=blended)  # type: ignore[arg-type]
    assert closure.ancestors([make.pk]) == {blend_id, first.pk, second.pk}

    def whey(amount: str, unit: str = "L", **changes: object) -> object:
        arguments = {"scope": dairy.maker, "lot_id": UUID(int=2), "from_lot_id": make.pk, "kind": "whey"}
        moments = {"drawn_at": later, "now": later}
        return tracing.by_product_record(**(arguments | moments | {"amount": amount, "unit": unit} | changes))  # type: ignore[arg-type]

    with pytest.raises(ActionError, match="is not a number"):
        whey("much")
    whey("95")
    other = dairy.start_make(at=later, milk=dairy.receive_milk(at=later, volume="50"))
    use = {"scope": dairy.maker, "parent_id": UUID(int=2), "child_id": other.pk, "now": later}
    with pytest.raises(ActionError, match="is counted in L"):
        tracing.use_record(amount="40", unit="kg", **use)  # type: ignore[arg-type]
    with pytest.raises(ActionError, match=r"Only 95.0"):
        tracing.use_record(amount="96", unit="L", **use)  # type: ignore[arg-type]
    tracing.use_record(amount="40", unit="L", **use)  # type: ignore[arg-type]
    with pytest.raises(ActionError, match="was itself made from"):
        lots.link_add(scope=dairy.maker, parent=other.lot, child=first.lot, amount=1.0, unit="kg", at=later)
    assert left_of(Lot.objects.get(pk=UUID(int=2))) == ("L", pytest.approx(55.0))
    balance = balances(dairy.owner.premises, Lot.objects.filter(pk=first.pk))[first.pk]
    assert (balance.there, balance.accounted, balance.unexplained) == (100.0, 60.0, 40.0)
    assert not balance.is_balanced
    # Densities 1.030 and 1.025 kg/L: common practice, no source.
    gave = yield_of(make.lot)
    assert (gave.into_kg, gave.by_products_kg) == (pytest.approx(110 * 1.030), pytest.approx(95 * 1.025))

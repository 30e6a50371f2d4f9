"""One more cheese joined to a plan of another: nothing lost, nothing loosened, the whole still storable."""

import dataclasses
import datetime as dt
import itertools

import networkx
import pytest

from haccp.plan.document import PlaceNamed, PlanDocument, ProductNamed
from haccp.plan.document.own_review import is_review
from haccp.plan.document.validity import problems_in
from haccp.plan.library import Library
from haccp.plan.library.as_document import plan_document
from haccp.plan.library.draft import draft_plan
from haccp.plan.library.joining import Joined, join

ON = dt.date(2026, 6, 1)
PLACES = (
    PlaceNamed(name="Vat 1", kind="vat", walking_order=1),
    PlaceNamed(name="Cave", kind="ripening_room", walking_order=2),
)
FAMILIES = ("fresh_lactic", "soft_ripened", "washed_rind", "blue", "semi_hard", "hard", "brined", "whey_cheese")


def plan_of(library: Library, code: str, family: str, treatment: str, jurisdiction: str = "EU") -> PlanDocument:
    answers = {"jurisdiction": jurisdiction, "species": "cow", "treatment": treatment, "family": family}
    product = ProductNamed(
        code=code, name=f"Cheese {code}", species="cow", treatment=treatment, family=library.families[family].name
    )
    return plan_document(draft_plan(answers, library, on=ON), library, product=product, places=PLACES)


def joined(library: Library, one: tuple[str, str], other: tuple[str, str], jurisdiction: str = "EU") -> Joined:
    plan = plan_of(library, "A", *one, jurisdiction)
    return join(plan, plan_of(library, "B", *other, jurisdiction))


@pytest.mark.parametrize("jurisdiction", ["EU", "UK", "US", "AU", "CA"])
def test_every_pair_of_families_and_treatments_joins_to_a_plan_that_can_be_stored(
    library: Library, jurisdiction: str
) -> None:
    kinds = list(itertools.product(FAMILIES, ("raw", "thermised", "pasteurised")))
    for one, other in zip(kinds, [*kinds[11:], *kinds[:11]], strict=True):
        plan = plan_of(library, "A", *one, jurisdiction)
        added = plan_of(library, "B", *other, jurisdiction)
        found = join(plan, added)
        document = found.document
        assert problems_in(document) == [], (one, other)
        # networkx judges the flow beside our own graph: without rework there is no circle, and the steps are in order.
        graph = networkx.DiGraph((link.start, link.end) for link in document.links if link.kind != "rework")
        assert networkx.is_directed_acyclic_graph(graph), (one, other)
        assert sorted(found.order) == sorted(step.key for step in document.steps)
        # Nothing that was there is gone, and its own words are untouched.
        for key, part in plan.by_key.items():
            now = document.by_key[key]
            changed = {
                field.name
                for field in dataclasses.fields(part)
                if getattr(part, field.name) != getattr(now, field.name)
            }
            assert changed <= {"products", "hazards", "limits"}, (one, other, changed)
        assert len([check for check in document.checks if is_review(check)]) == 1


def test_the_new_cheese_passes_all_its_steps_and_the_old_one_none_more(library: Library) -> None:
    plan = plan_of(library, "A", "hard", "raw")
    other = plan_of(library, "B", "fresh_lactic", "pasteurised")
    document = join(plan, other).document
    names = {
        code: [step.name for step in document.steps if not step.products or code in step.products]
        for code in ("A", "B")
    }
    assert sorted(names["A"]) == sorted(step.name for step in plan.steps)
    assert sorted(names["B"]) == sorted(step.name for step in other.steps)
    shared = [step for step in document.steps if set(step.products) == {"A", "B"}]
    assert {"Dispatch", "Cold storage", "Draining and moulding"} <= {step.name for step in shared}


def test_a_limit_of_one_cheese_never_comes_to_bind_the_other(library: Library) -> None:
    plan = plan_of(library, "A", "semi_hard", "pasteurised")
    ours = next(limit for limit in plan.limits if limit.evaluator == "holding")
    # Edited by hand: warmer than the law asks, and for all cheeses.
    plan = plan.with_part(dataclasses.replace(ours, low=68.0, products=()))
    document = join(plan, plan_of(library, "B", "blue", "pasteurised")).document
    of = {
        code: [one.low for one in document.limits if one.evaluator == "holding" and code in one.products]
        for code in "AB"
    }
    assert of == {"A": [68.0], "B": [63.0]}
    # Both are watched by the one check of the vat, which is now for both.
    check = next(one for one in document.checks if one.name == "Heat treatment of the vat")
    assert check.products == ("A", "B")


def test_a_hazard_that_weighs_more_in_raw_milk_is_not_hidden_by_that_of_pasteurised_milk(library: Library) -> None:
    plan = plan_of(library, "A", "hard", "pasteurised")
    other = plan_of(library, "B", "hard", "raw")
    document = join(plan, other).document
    steps = {step.key: step.name for step in document.steps}

    def significant(source: PlanDocument) -> set[tuple[str, str]]:
        names = {step.key: step.name for step in source.steps}
        return {(names[hazard.step], hazard.agent) for hazard in source.hazards if hazard.significant}

    assert significant(other) | significant(plan) <= {
        (steps[hazard.step], hazard.agent) for hazard in document.hazards if hazard.significant
    }


def test_open_limits_are_asked_again_for_the_new_cheese_and_what_happened_is_said(library: Library) -> None:
    found = joined(library, ("semi_hard", "pasteurised"), ("washed_rind", "pasteurised"))
    asked = [one.question for one in found.document.judgements if one.question.startswith("Cheese B: ")]
    assert any("pH" in question for question in asked)
    assert found.summary.startswith("Cheese B (B) added: ")
    assert "Shared with what was there" in found.summary
    assert "question" in found.summary or "open judgement" in found.summary

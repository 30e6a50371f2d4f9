"""Every family, treatment, species and jurisdiction drafts a plan that hangs together."""

import datetime as dt
from itertools import product
from typing import get_args

import networkx
import pytest

from haccp.lots.kinds import EventKind
from haccp.plan.library import Library, PlanDraft, draft_plan
from haccp.plan.library.conditions import Answer
from haccp.plan.library.plan_draft import BorrowedLimit, OpenLimit
from haccp.premises.models import Instrument, Place, Premises
from haccp.science.decision_tree import Outcome
from haccp.science.errors import InputError
from haccp.science.evaluators import check_limit
from haccp.science.schedule import check_cadence

TODAY = dt.date(2026, 11, 25)
JURISDICTIONS = ("EU", "UK", "US", "AU", "CA")
SPECIES = ("cow", "goat", "ewe", "buffalo")
TREATMENTS = ("raw", "thermised", "pasteurised")
FAMILIES = ("fresh_lactic", "soft_ripened", "washed_rind", "blue", "semi_hard", "hard", "brined", "whey_cheese")


def draft(library: Library, **answers: Answer) -> PlanDraft:
    given: dict[str, Answer] = {"jurisdiction": "EU", "species": "cow", "treatment": "raw", "family": "hard"}
    return draft_plan({**given, **answers}, library, on=TODAY)


@pytest.fixture(scope="module")
def drafts(library: Library) -> list[PlanDraft]:
    """Every combination; packing and heating vary with them so that each of their answers occurs in each family."""
    found = []
    every = product(JURISDICTIONS, SPECIES, TREATMENTS, FAMILIES)
    for number, (jurisdiction, species, treatment, family) in enumerate(every):
        answers: dict[str, Answer] = {
            "jurisdiction": jurisdiction,
            "species": species,
            "treatment": treatment,
            "family": family,
            "packaging": ("none", "paper", "vacuum", "tub")[number // 7 % 4],
            "additions": ("none", "herbs", "nuts", "ash")[number // 5 % 4],
            "salting": ("dry", "brine")[number // 3 % 2],
            "cuts_portions": number % 3 == 0,
            "lysozyme": number % 4 == 0,
            "wooden_shelves": number % 2 == 0,
            "herd_free": number // 2 % 2 == 0,
        }
        if treatment != "raw":
            answers["heat_process"] = ("batch", "continuous")[number // 11 % 2]
        found.append(draft_plan(answers, library, on=TODAY))
    return found


def test_there_are_starting_plans_for_every_family_and_treatment(drafts: list[PlanDraft], library: Library) -> None:
    assert set(library.families) == set(FAMILIES)
    assert len(drafts) == 5 * 4 * 3 * 8
    for each in drafts:
        assert len(each.steps) >= 7
        assert each.critical
        assert len(each.hazards) >= 15


def test_no_significant_hazard_is_without_a_control(drafts: list[PlanDraft]) -> None:
    for each in drafts:
        codes = {control.id for control in each.controls}
        for hazard in each.hazards:
            if hazard.significant:
                assert hazard.controls, (each.answers, hazard.hazard, hazard.step)
                assert set(hazard.controls) <= codes
            assert hazard.justification
            assert hazard.control_measure
            assert hazard.sources


def test_no_hazard_stands_twice_at_a_step(drafts: list[PlanDraft]) -> None:
    for each in drafts:
        keys = [(hazard.hazard, hazard.step) for hazard in each.hazards]
        assert len(keys) == len(set(keys)), each.answers


def test_critical_points_are_those_that_the_tree_determines(drafts: list[PlanDraft]) -> None:
    """CXC 1-1969 (2022), Annex IV: a point is critical where the answers for some hazard say so, and only there."""
    for each in drafts:
        determined = {
            (hazard.step, name)
            for hazard in each.hazards
            if hazard.determination is Outcome.CCP
            for name in hazard.controls
        }
        for control in each.critical:
            assert (control.step, control.id) in determined, (each.answers, control.id)
        assert all(hazard.determination is not Outcome.MODIFY for hazard in each.hazards)


def test_the_flow_runs_from_milk_to_dispatch_without_dead_ends(drafts: list[PlanDraft]) -> None:
    """Checked with networkx: rework apart, the flow is a directed graph without cycles and with one end."""
    for each in drafts:
        graph = networkx.DiGraph()
        graph.add_nodes_from(step.id for step in each.steps)
        graph.add_edges_from((link.source, link.target) for link in each.links if link.kind == "flow")
        assert networkx.is_directed_acyclic_graph(graph)
        assert [node for node in graph if graph.out_degree(node) == 0] == ["dispatch"]
        assert len([node for node in graph if graph.in_degree(node) == 0]) == 1
        for link in each.links:
            assert {link.source, link.target} - {""} <= set(graph)
            assert link.kind in ("flow", "input", "output", "rework")
            assert link.kind == "flow" or link.material


def test_inputs_and_outputs_of_the_trade_are_on_the_flow(library: Library) -> None:
    links = draft(library, family="blue", salting="brine", additions="ash", lysozyme=True).links
    inputs = {link.material for link in links if link.kind == "input"}
    assert {"raw milk", "starter culture", "rennet", "salt", "ash", "lysozyme from egg"} <= inputs
    assert "ripening moulds and yeasts" in inputs
    assert "whey" in {link.material for link in links if link.kind == "output"}
    assert "brine used again" in {link.material for link in links if link.kind == "rework"}


def test_raw_milk_cheese_has_an_ageing_or_testing_control(drafts: list[PlanDraft]) -> None:
    for each in drafts:
        names = {control.id for control in each.critical}
        if each.answers["family"] == "whey_cheese":
            assert "ccp.whey_heating" in names
        elif each.answers["treatment"] == "raw":
            assert "ccp.test_and_hold" in names
            assert (each.answers["jurisdiction"] in ("US", "CA")) == ("ccp.ageing.us_ca" in names)
        elif each.answers["treatment"] == "pasteurised":
            assert "ccp.pasteurisation" in names
            assert "ccp.test_and_hold" not in names


def test_brucella_is_considered_in_every_milk_and_ranks_as_significant(drafts: list[PlanDraft]) -> None:
    for each in drafts:
        brucella = [hazard for hazard in each.hazards if hazard.hazard == "brucella"]
        assert brucella, each.answers
        if each.answers["treatment"] == "raw" and each.answers["species"] in ("goat", "ewe"):
            assert all(hazard.significant and hazard.controls for hazard in brucella)


@pytest.mark.parametrize("jurisdiction", ["EU", "UK"])
def test_a_flock_that_is_not_free_ages_two_months_in_the_eu(library: Library, jurisdiction: str) -> None:
    plan = draft(library, jurisdiction=jurisdiction, species="goat", family="hard", herd_free=False)
    assert "ccp.ageing.brucella" in {control.id for control in plan.critical}
    assert not plan.conflicts  # typical age of a hard cheese is 180 days
    young = draft(library, jurisdiction=jurisdiction, species="goat", family="fresh_lactic", herd_free=False)
    assert [conflict.value for conflict in young.conflicts] == ["ageing.eu.brucella"]
    free = draft(library, jurisdiction=jurisdiction, species="goat", family="fresh_lactic", herd_free=True)
    assert "ccp.ageing.brucella" not in {control.id for control in free.critical}
    assert free.conflicts == ()


def test_raw_milk_of_cattle_that_are_not_free_conflicts_in_the_eu(library: Library) -> None:
    conflicts = draft(library, species="cow", herd_free=False).conflicts
    assert [conflict.value for conflict in conflicts] == ["milk.health.cattle.eu"]
    assert "(from memory)" in conflicts[0].citation
    assert draft(library, species="cow", herd_free=True).conflicts == ()
    assert draft(library, species="cow", herd_free=False, treatment="pasteurised").conflicts == ()


def test_a_fresh_raw_milk_cheese_finds_no_lawful_way_in_the_us(library: Library) -> None:
    plan = draft(library, jurisdiction="US", family="fresh_lactic")
    assert [conflict.value for conflict in plan.conflicts] == ["ageing.us.must_pasteurise"]


@pytest.mark.parametrize(
    ("jurisdiction", "treatment", "family", "days", "conflict"),
    [
        ("US", "raw", "soft_ripened", 59, "ageing.us.soft"),
        ("US", "raw", "soft_ripened", 60, None),
        ("US", "thermised", "semi_hard", 59, "ageing.us.semisoft"),
        ("US", "pasteurised", "semi_hard", 10, None),
        ("CA", "raw", "fresh_lactic", 59, "ageing.ca"),
        ("CA", "thermised", "brined", 60, None),
        ("AU", "thermised", "hard", 89, "ageing.au.thermised"),
        ("AU", "thermised", "hard", 90, None),
        ("AU", "raw", "hard", 10, None),
    ],
)
def test_an_age_that_the_law_does_not_let_stand_is_told(
    library: Library, jurisdiction: str, treatment: str, family: str, days: int, conflict: str | None
) -> None:
    """21 CFR 133; Food and Drug Regulations B.08.044; Standard 4.2.4 clause 16(1)(b)."""
    plan = draft(library, jurisdiction=jurisdiction, treatment=treatment, family=family, ageing_days=days)
    assert [each.value for each in plan.conflicts] == ([conflict] if conflict else [])


def limit_of(plan: PlanDraft, control: str, key: str) -> BorrowedLimit | OpenLimit:
    found = next(each for each in plan.controls if each.id == control)
    return next(limit for limit in found.limits if limit.key == key)


@pytest.mark.parametrize(
    ("jurisdiction", "process", "rich", "expected"),
    [
        ("EU", "batch", False, (63.0, 1800)),
        ("UK", "batch", False, (63.0, 1800)),
        ("US", "batch", False, (63.0, 1800)),
        ("US", "batch", True, (66.0, 1800)),
        ("CA", "batch", False, (61.6, 1800)),
        ("AU", "batch", False, None),
        ("EU", "continuous", False, (72.0, None)),
        ("US", "continuous", True, (75.0, None)),
        ("AU", "continuous", False, (72.0, None)),
        ("CA", "continuous", False, None),
    ],
)
def test_the_pasteurisation_limit_is_that_of_the_jurisdiction(
    library: Library, jurisdiction: str, process: str, rich: bool, expected: tuple[float, int | None] | None
) -> None:
    """None: the law that was read names no pair for this way of heating, so the limit stays the maker's to show."""
    answers: dict[str, Answer] = {"treatment": "pasteurised", "heat_process": process, "rich_milk": rich}
    plan = draft(library, jurisdiction=jurisdiction, **answers)
    limit = limit_of(plan, "ccp.pasteurisation", "hold" if process == "batch" else "outlet")
    if expected is None:
        assert isinstance(limit, OpenLimit)
        code = next(control.code for control in plan.critical if control.id == "ccp.pasteurisation")
        assert any(judgement.place == code for judgement in plan.open_judgements)
    else:
        assert isinstance(limit, BorrowedLimit)
        assert limit.ready.limit.low == expected[0]
        assert limit.ready.limit.parameters.get("hold_s") == expected[1]


def test_thermisation_is_critical_only_where_the_law_joins_it_to_a_storage(library: Library) -> None:
    australian = draft(library, jurisdiction="AU", treatment="thermised")
    limit = limit_of(australian, "ccp.thermisation", "hold")
    assert isinstance(limit, BorrowedLimit)
    assert (limit.ready.limit.low, limit.ready.limit.parameters) == (64.5, {"hold_s": 16})
    european = draft(library, jurisdiction="EU", treatment="thermised")
    assert "ccp.thermisation" not in {control.id for control in european.controls}
    assert isinstance(limit_of(european, "prp.thermising", "hold"), OpenLimit)


def test_no_thermised_plan_speaks_of_its_milk_as_pasteurised(drafts: list[PlanDraft]) -> None:
    for each in drafts:
        if each.answers["treatment"] == "thermised":
            assert "pasteurisation" not in {step.id for step in each.steps}
            assert "ccp.pasteurisation" not in {control.id for control in each.controls}
            assert all("asteuris" not in step.name for step in each.steps)
            names = [control.name for control in each.controls if "not pasteurised" not in control.name]
            assert not [name for name in names if name.startswith("Pasteuris")]


def test_jurisdictions_differ_where_the_law_differs(library: Library) -> None:
    ages = {}
    for jurisdiction in ("US", "CA", "AU"):
        plan = draft(library, jurisdiction=jurisdiction, treatment="thermised", family="semi_hard", ageing_days=200)
        control = "ccp.ageing.au" if jurisdiction == "AU" else "ccp.ageing.us_ca"
        limits = [limit_of(plan, control, key) for key in ("age", "storage")]
        ages[jurisdiction] = [limit.ready.limit.low for limit in limits if isinstance(limit, BorrowedLimit)]
    assert ages == {
        "US": [60 * 86_400, pytest.approx(1.6667, abs=1e-3)],
        "CA": [60 * 86_400, 2.0],
        "AU": [90 * 86_400, 7.0],
    }


def test_every_limit_is_ready_or_listed_as_open(drafts: list[PlanDraft]) -> None:
    for each in drafts:
        for control in each.controls:
            for limit in control.borrowed:
                check_limit(limit.ready.limit)
                assert limit.document
                assert limit.clause
                if limit.needs_confirming:
                    assert "memory" in limit.clause or "second hand" in limit.clause
            for limit in control.open:
                assert any(
                    judgement.place == control.code and judgement.question == limit.question
                    for judgement in each.open_judgements
                )


def test_every_check_can_be_scheduled_and_measures_what_its_limits_need(drafts: list[PlanDraft]) -> None:
    events = set(EventKind.values)
    for each in drafts:
        for control in each.controls:
            assert control.checks, (each.answers, control.id)
            keys = {limit.key for limit in control.limits}
            watched: set[str] = set()
            for check in control.checks:
                check_cadence(check.cadence)
                assert {check.cadence[name] for name in ("event", "until_event") if name in check.cadence} <= events
                assert not check.place_kind or check.place_kind in Place.Kind.values
                assert not check.instrument_kind or check.instrument_kind in Instrument.Kind.values
                watched |= {key for measure in check.measures for key in measure.limits}
            assert keys <= watched, (control.id, keys - watched)


def test_every_corrective_action_says_what_becomes_of_the_product(drafts: list[PlanDraft]) -> None:
    words = ("hold", "held", "destroy", "refuse", "keep", "call", "aside", "out of cheese", "clean again", "apart")
    for control in {control.id: control for each in drafts for control in each.controls}.values():
        assert any(word in control.corrective_action.lower() for word in words), control.id
        assert control.verification


def test_prerequisite_programmes_are_complete(drafts: list[PlanDraft]) -> None:
    """Programmes named by Codex CXC 1-1969, chapter 1 (from memory)."""
    needed = {"water", "cleaning", "pests", "personnel", "suppliers", "allergens", "calibration", "maintenance",
              "waste", "transport"}  # fmt: skip
    for each in drafts:
        assert needed <= {control.programme for control in each.prerequisites}
        codes = [control.code for control in each.controls]
        assert len(codes) == len(set(codes))


def test_answers_open_and_close_parts_of_the_plan(library: Library) -> None:
    plain = draft(library, family="semi_hard", wooden_shelves=False, brushed=False, lysozyme=False, additions="none")
    full = draft(
        library, family="semi_hard", wooden_shelves=True, brushed=True, lysozyme=True, additions="nuts", piercing=False
    )
    added = {hazard.hazard for hazard in full.hazards} - {hazard.hazard for hazard in plain.hazards}
    assert {"wood", "bristles", "egg_lysozyme", "nut_allergen"} <= added
    assert "needles" in {hazard.hazard for hazard in draft(library, family="blue").hazards}
    assert any("Who eats it" in judgement.question for judgement in full.open_judgements)


def test_a_draft_is_the_same_each_time(library: Library) -> None:
    assert draft(library) == draft(library)


@pytest.mark.parametrize(
    ("answers", "problem"),
    [
        ({"species": "camel"}, "camel"),
        ({"treatment": "boiled"}, "boiled"),
        ({"jurisdiction": "US-MI"}, "US-MI"),
        ({"shoe_size": "43"}, "no question “shoe_size”"),
        ({"ageing_days": -1}, "-1"),
        ({"ageing_days": float("nan")}, "nan"),
        ({"ageing_days": True}, "True"),
        ({"piercing": "yes"}, "yes"),
    ],
)
def test_answers_that_cannot_be_used_are_refused_with_a_remedy(
    library: Library, answers: dict[str, Answer], problem: str
) -> None:
    with pytest.raises(InputError, match=problem) as refused:
        draft(library, **answers)
    assert refused.value.remedy


def test_a_missing_answer_names_its_question(library: Library) -> None:
    with pytest.raises(InputError, match="Whose milk is it"):
        draft_plan({"jurisdiction": "EU", "treatment": "raw", "family": "hard"}, library, on=TODAY)


def test_the_questions_offer_what_the_rest_of_the_service_knows(library: Library) -> None:
    offered = {key for key, _ in library.questions["jurisdiction"].choices}
    assert offered == set(Premises.Jurisdiction.values)
    assert {type(question.default) for question in library.questions.values()} <= {*get_args(Answer), int, type(None)}
    assert all(question.decides for question in library.questions.values())

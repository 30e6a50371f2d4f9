"""Each rule finds a plan that breaks it, and leaves a sound one alone."""

import dataclasses
import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest

from haccp.plan.document import PlanDocument
from haccp.plan.document.parts import ControlPoint, CriticalLimit, DecisionAnswers, Hazard, Link, Step
from haccp.plan.findings import RULES, Circumstances, InstrumentOwned, Severity, examine
from tests.plan.sound_plan import WEEKLY, by_the_library, changed, circumstances, k, sound_plan, without

Broken = PlanDocument | tuple[PlanDocument, Circumstances]
SOUND = sound_plan()
HEAT = "heat.laxer_than_law"


def test_a_sound_plan_has_no_findings() -> None:
    assert examine(SOUND, circumstances()) == []


def product(**fields: Any) -> PlanDocument:
    return dataclasses.replace(SOUND, products=(dataclasses.replace(SOUND.products[0], **fields),))


def empty(*kinds: str) -> PlanDocument:
    return dataclasses.replace(SOUND, **dict.fromkeys(kinds, ()))


def plan(**fields: Any) -> PlanDocument:
    return dataclasses.replace(SOUND, **fields)


def answers(**given: bool) -> PlanDocument:
    return changed(SOUND, "d listeria", answers=given)


def rarely_by_hand() -> PlanDocument:
    return changed(SOUND, "check", cadence={"kind": "by_hand"})


def second_limit(**fields: Any) -> PlanDocument:
    base: CriticalLimit = SOUND.limits[0]
    return SOUND.with_part(dataclasses.replace(base, key=k("second"), **fields))


def at_least_an_hour_of_room_temperature(low: float, high: float, key: str, statement: str) -> CriticalLimit:
    return CriticalLimit(
        key=k(key), control_point=k("prp waste"), statement=statement, quantity="temperature", evaluator="reading",
        comparator="between", low=low, high=high, unit="°C",
    )  # fmt: skip


BREAKS: dict[str, Callable[[], Broken]] = {
    "scope.none": lambda: plan(scope_statement=" "),
    "team.none": lambda: empty("team_members"),
    "team.competence": lambda: changed(SOUND, "ada", competence=""),
    "product.undescribed": lambda: empty("descriptions"),
    "product.incomplete": lambda: changed(SOUND, "description", packaging="", salt_percent=None),
    "product.intended_use": lambda: changed(SOUND, "description", intended_use=""),
    "product.vulnerable_consumers": lambda: changed(SOUND, "description", vulnerable_consumers=""),
    "product.milk_allergen": lambda: changed(SOUND, "description", allergens=("egg",)),
    "product.raw_milk_label": lambda: product(treatment="raw"),
    "product.listeria_growth": lambda: changed(SOUND, "listeria", agent="", name="Salmonella survives"),
    "review.no_check": lambda: without(SOUND, "check review", "m review"),
    "review.records_later_than_law": lambda: (plan(records_reviewed_within=8), circumstances(jurisdiction="US")),
    "check.place_retired": lambda: (
        changed(SOUND, "check", place="Vat 9"),
        circumstances(places_retired=frozenset({"Vat 9"})),
    ),
    "flow.empty": lambda: empty("steps"),
    "flow.cycle": lambda: changed(SOUND, "rework", kind="flow"),
    "flow.off_the_diagram": lambda: SOUND.with_part(Step(key=k("wax"), position=9, name="Wax")),
    "flow.dead_end": lambda: changed(SOUND, "dispatch", kind="storage"),
    "flow.unreached": lambda: changed(SOUND, "milk", kind="operation"),
    "flow.no_input": lambda: without(SOUND, "milk in"),
    "flow.unconfirmed": lambda: (SOUND, circumstances(confirmed_flows=frozenset({"0" * 64}))),
    "hazard.step_not_analysed": lambda: without(SOUND, "physical at make"),
    "hazard.kind_not_considered": lambda: without(SOUND, "allergen at dispatch"),
    "hazard.uncontrolled": lambda: changed(without(SOUND, "m listeria"), "ccp", hazards=()),
    "hazard.control_in_words_only": lambda: changed(
        changed(without(SOUND, "m listeria"), "ccp", hazards=()), "listeria", control_measure="Heat."
    ),
    "hazard.measure_nowhere": lambda: changed(SOUND, "m listeria", step=None, control_point=None),
    "hazard.unjustified": lambda: changed(SOUND, "listeria", justification=""),
    "risk.no_scale": lambda: empty("risk_levels"),
    "risk.no_threshold": lambda: plan(significant_from=None),
    "risk.off_the_scale": lambda: changed(SOUND, "listeria", severity=9),
    "risk.judged_lighter": lambda: changed(SOUND, "listeria", significant=False),
    "hazard.brucella": lambda: product(species="goat"),
    "hazard.raw_milk": lambda: product(treatment="raw"),
    "decision.unanswered": lambda: empty("decisions"),
    "decision.incomplete": lambda: answers(q1=False, q2=True),
    "decision.ccp_missing": lambda: changed(SOUND, "ccp", kind="prerequisite"),
    "decision.later_ccp_missing": lambda: answers(q1=False, q2=True, q3=True),
    "decision.modify": lambda: answers(q1=False, q2=True, q3=False, q4=False),
    "decision.not_a_ccp": lambda: answers(q1=True),
    "decision.old_tree": lambda: changed(SOUND, "d listeria", tree="codex_1997", answers={"q1": True, "q2": True}),
    "ccp.none": lambda: changed(SOUND, "ccp", kind="prerequisite"),
    "ccp.no_limit": lambda: empty("limits"),
    "ccp.no_monitoring": lambda: without(SOUND, "check", "m recorder"),
    "ccp.no_corrective_action": lambda: changed(SOUND, "ccp", corrective_action="  "),
    "ccp.no_disposition": lambda: changed(SOUND, "ccp", disposition=""),
    "ccp.no_validation": lambda: empty("validations"),
    "ccp.no_verification": lambda: without(SOUND, "v ccp"),
    "ccp.no_hazard": lambda: changed(SOUND, "ccp", hazards=(k("chemical at milk"),)),
    "ccp.no_step": lambda: changed(SOUND, "ccp", step=None),
    "limit.unmonitored": lambda: changed(SOUND, "m recorder", limits=()),
    "limit.defective": lambda: changed(SOUND, "limit", parameters={}),
    "limit.no_source": lambda: changed(without(SOUND, "validation"), "limit", source_document=""),
    "limit.no_target": lambda: changed(SOUND, "limit", target_low=None, parameters={"hold_s": 1800}),
    "limit.contradictory": lambda: SOUND.with_part(
        at_least_an_hour_of_room_temperature(2, 8, "cold", "2 to 8 °C")
    ).with_part(at_least_an_hour_of_room_temperature(10, 14, "warm", "10 to 14 °C")),
    "heat.laxer_than_law": lambda: changed(SOUND, "limit", low=62.0),
    "heat.missing": lambda: changed(SOUND, "limit", low=40.0, target_low=41.0),
    "heat.of_raw_milk": lambda: product(treatment="raw"),
    "raw_milk.no_ageing_or_testing": lambda: changed(product(treatment="raw"), "description", ageing_days=None),
    "ageing.below_law": lambda: (product(treatment="raw"), circumstances(jurisdiction="US")),
    "ageing.too_cold": lambda: (
        changed(product(treatment="raw"), "description", ageing_days=90, ageing_temperature_c=1.0),
        circumstances(jurisdiction="CA"),
    ),
    "check.instrument_too_coarse": lambda: (
        SOUND,
        circumstances(instruments=(InstrumentOwned("recorder", "Old", 1.5),)),
    ),
    "check.instrument_not_owned": lambda: (SOUND, circumstances(instruments=())),
    "check.instrument_unfit": lambda: (
        SOUND,
        circumstances(instruments=(InstrumentOwned("recorder", "Old", 0.2, "the calibration ran out"),)),
    ),
    "check.no_instrument": lambda: changed(SOUND, "check", instrument_kind=""),
    "check.no_method": lambda: changed(SOUND, "check", how=""),
    "check.nobody": lambda: changed(SOUND, "check", who=""),
    "check.enters_nothing": lambda: without(SOUND, "m water"),
    "check.unusable_cadence": lambda: changed(SOUND, "check", cadence={"kind": "tide"}),
    "check.too_rare": lambda: changed(SOUND, "check", cadence=WEEKLY),
    "programme.missing": lambda: without(SOUND, "prp pests", "check pests", "m pests"),
    "programme.unchecked": lambda: without(SOUND, "check pests", "m pests"),
    "programme.no_corrective_action": lambda: changed(SOUND, "prp pests", corrective_action=""),
    "verification.none": lambda: empty("verifications"),
    "verification.nobody": lambda: changed(SOUND, "v plan", who=""),
    "validation.no_document": lambda: changed(SOUND, "validation", document=""),
    "documents.none": lambda: empty("documents"),
    "documents.no_retention": lambda: changed(SOUND, "doc", retention_days=None),
    "review.overdue": lambda: (SOUND, circumstances(review_due_on=dt.date(2026, 5, 31))),
    "review.no_triggers": lambda: empty("review_triggers"),
    "source.superseded": lambda: (changed(SOUND, "limit", source_clause="Standard 1.6.2"), by_the_library("AU")),
    "law.forbidden": lambda: (product(treatment="raw", family="Fresh lactic"), by_the_library("US")),
    "milk.herd_status_unsaid": lambda: product(treatment="raw"),
    "source.other_jurisdiction": lambda: changed(SOUND, "mark", jurisdiction="US-MI"),
    "judgement.open": lambda: changed(SOUND, "judgement", answer=" "),
}


def test_every_rule_is_broken_below() -> None:
    # Who covers whom is known above the plan: tests/checks/test_cover.py tries that rule.
    assert set(BREAKS) == set(RULES) - {"check.nobody_covers"}
    assert len(RULES) >= 30


@pytest.mark.parametrize("rule_id", BREAKS)
def test_a_rule_finds_the_plan_that_breaks_it(rule_id: str) -> None:
    broken = BREAKS[rule_id]()
    document, here = broken if isinstance(broken, tuple) else (broken, circumstances(broken))

    found = [finding for finding in examine(document, here) if finding.rule == rule_id]

    assert found, rule_id
    for finding in found:
        assert finding.sentence.endswith((".", "?"))
        assert finding.remedy.endswith(".")
        assert finding.clause
        assert finding.part_key == "" or document.kind_of[finding.part_key] == finding.part_kind


def rules(document: PlanDocument, **here: Any) -> set[str]:
    return {finding.rule for finding in examine(document, circumstances(document, **here))}


def blocking(document: PlanDocument, **here: Any) -> set[str]:
    found = examine(document, circumstances(document, **here))
    return {finding.rule for finding in found if finding.severity is Severity.BLOCKS}


# 21 CFR 1240.61(b): 63 °C (145 °F) for 30 min, 72 °C (161 °F) for 15 s; 3 °C (5 °F) more for fat of 10 % and above.
# Regulation (EC) 853/2004, Annex III, section IX: 63 °C for 30 min. FDR B.08.030(1): 61.6 °C for 30 min.
@pytest.mark.parametrize(
    ("jurisdiction", "low", "hold_s", "fat", "is_lawful"),
    [
        ("EU", 63.0, 1800, 4.0, True),
        ("EU", 63.0, 1799, 4.0, False),
        ("EU", 62.9, 1800, 4.0, False),
        ("EU", 72.0, 15, 4.0, True),
        ("UK", 63.0, 1800, 4.0, True),
        ("US", 62.78, 1800, 4.0, True),
        ("US", 63.0, 1800, 12.0, False),
        ("US", 66.0, 1800, 12.0, True),
        ("US", 89.0, 1, 12.0, True),
        ("CA", 61.6, 1800, 4.0, True),
        ("CA", 61.5, 1800, 4.0, False),
        ("AU", 72.0, 15, 4.0, True),
        ("AU", 71.9, 15, 4.0, False),
    ],
)
def test_heat_treatment_laxer_than_the_law_blocks(
    jurisdiction: str, low: float, hold_s: int, fat: float, is_lawful: bool
) -> None:
    parameters = {"hold_s": hold_s, "target_hold_s": hold_s}
    document = changed(SOUND, "limit", low=low, target_low=low + 1, parameters=parameters)
    document = changed(document, "description", milk_fat_percent=fat)

    assert ("heat.laxer_than_law" in blocking(document, jurisdiction=jurisdiction)) != is_lawful


# 21 CFR 1240.61(a) (from memory): no standard lets a fresh cheese be of raw milk. Regulation (EC) 853/2004, Annex III,
# section IX, chapter I, part I, 2 and 3 (from memory): milk of cattle from herds that are not free is heat-treated.
@pytest.mark.parametrize(
    ("jurisdiction", "treatment", "family", "species", "herds_free", "is_banned"),
    [
        ("US", "raw", "Fresh lactic", "cow", "yes", True),
        ("US", "thermised", "fresh_lactic", "goat", "", True),
        ("US", "pasteurised", "Fresh lactic", "cow", "", False),
        ("US", "raw", "Hard", "cow", "", False),
        ("EU", "raw", "Fresh lactic", "cow", "yes", False),
        ("EU", "raw", "Hard", "cow", "no", True),
        ("UK", "thermised", "Hard", "buffalo", "no", True),
        ("EU", "pasteurised", "Hard", "cow", "no", False),
        ("EU", "raw", "Hard", "ewe", "no", False),  # two months of age do there
        ("AU", "raw", "Fresh lactic", "cow", "", False),
    ],
)
def test_what_the_law_forbids_blocks(
    jurisdiction: str, treatment: str, family: str, species: str, herds_free: str, is_banned: bool
) -> None:
    document = changed(
        product(treatment=treatment, family=family, species=species), "description", herds_free=herds_free
    )
    found = [one for one in examine(document, by_the_library(jurisdiction)) if one.rule == "law.forbidden"]
    assert bool(found) == is_banned
    assert all("(" in one.sentence and one.blocks for one in found)  # the clause is said


def test_ewes_milk_of_a_holding_that_is_not_free_needs_two_months() -> None:
    """Regulation (EC) 853/2004, Annex III, section IX, chapter I, part I, 3(b) (from memory)."""
    for days, herds_free, blocks in ((50, "no", True), (62, "no", False), (50, "yes", False), (50, "", False)):
        document = changed(
            product(treatment="raw", species="ewe"), "description", ageing_days=days, herds_free=herds_free
        )
        found = {one.rule for one in examine(document, by_the_library("EU")) if one.blocks}
        assert ("ageing.below_law" in found) == blocks, (days, herds_free)


@pytest.mark.parametrize(
    ("jurisdiction", "citation", "by"),
    [
        ("EU", "Regulation (EC) No 1881/2006", "Regulation (EU) 2023/915"),
        ("UK", "Regulation (EC) No 1881/2006", ""),  # retained there
        ("CA", "FDR B.08.048", "Table of Microbiological Criteria for Food"),
        ("UK", "SI 1995/1372, schedule 8", "Regulation (EC) 853/2004"),
        ("US", "21 CFR 178.1010", "40 CFR 180.940"),
        ("US", "CAC/RCP 1-1969, Rev. 3", "CXC 1-1969"),
        ("EU", "CXC 1-1969 (2022)", ""),
    ],
)
def test_a_replaced_source_is_found_by_the_library(jurisdiction: str, citation: str, by: str) -> None:
    document = changed(SOUND, "limit", source_document=citation)
    found = [one.sentence for one in examine(document, by_the_library(jurisdiction)) if one.rule == "source.superseded"]
    assert [by in sentence for sentence in found] == ([True] if by else [])


def test_a_borrowed_value_that_the_library_replaced_is_found_by_its_id() -> None:
    document = changed(SOUND, "mark", entry="heat.thermisation.au.old")
    here = circumstances(replaced_entries={"heat.thermisation.au.old": "heat.thermisation.au"})
    assert "source.superseded" in {one.rule for one in examine(document, here)}
    assert "source.superseded" not in {one.rule for one in examine(document, circumstances())}


@pytest.mark.parametrize(("jurisdiction", "days", "is_found"), [("US", 7, False), ("US", 8, True), ("EU", 20, False)])
def test_a_plan_under_us_law_has_its_days_reviewed_within_seven_working_days(
    jurisdiction: str, days: int, is_found: bool
) -> None:
    """21 CFR 117.165(a)(4), from memory: seven working days, or a written justification for longer."""
    found = examine(plan(records_reviewed_within=days), circumstances(jurisdiction=jurisdiction))
    assert ("review.records_later_than_law" in {one.rule for one in found}) == is_found


def heat_limit(**fields: Any) -> PlanDocument:
    return changed(SOUND, "limit", **{"target_low": None, **fields})


# Standard 4.2.4 clause 15 takes another pair "of equal or greater lethal effect", FDR B.08.030(1) what destroys as
# much phosphatase, Annex III section IX "or equivalent"; 21 CFR 1240.61(b) takes its own rows only.
@pytest.mark.parametrize(
    ("jurisdiction", "low", "hold_s", "validated", "said"),
    [
        ("AU", 63.0, 1800, False, "is not the pair that the law names"),
        ("AU", 63.0, 1800, True, ""),
        ("AU", 62.5, 1800, True, "is laxer than the law"),
        ("EU", 68.0, 126, True, ""),  # 15 s at 72 °C by z = 4.33 °C
        ("EU", 68.0, 125, True, "is laxer than the law"),
        ("EU", 75.0, 10, True, ""),  # by z = 14.5 °C above 72 °C
        ("EU", 75.0, 9, True, "is laxer than the law"),
        ("US", 68.0, 130, True, "is laxer than the law"),
        ("CA", 72.0, 16, False, "is not the pair that the law names"),
    ],
)
def test_another_pair_needs_a_law_that_takes_it_and_a_validation(
    jurisdiction: str, low: float, hold_s: int, validated: bool, said: str
) -> None:
    document = heat_limit(low=low, parameters={"hold_s": hold_s})
    if not validated:
        document = changed(document, "validation", limit=None)
    found = [one.sentence for one in examine(document, circumstances(jurisdiction=jurisdiction)) if one.rule == HEAT]
    assert [said in sentence for sentence in found] == ([True] if said else [])


def test_the_end_of_a_holding_tube_is_judged_by_the_pairs_of_seconds() -> None:
    for low, lax in ((72.0, False), (71.9, True)):
        document = heat_limit(low=low, evaluator="reading", parameters={})
        assert (HEAT in blocking(document)) == lax
        assert "heat.missing" not in blocking(document)


def test_a_hot_wash_and_the_scald_of_curd_are_no_heat_treatment_of_milk() -> None:
    wash = {"quantity": "temperature", "evaluator": "reading", "comparator": "at_least", "unit": "°C"}
    hot_wash = SOUND.with_part(
        CriticalLimit(key=k("wash"), control_point=k("prp cleaning"), statement="60 °C", low=60.0, **wash)
    )
    scald = SOUND.with_part(
        CriticalLimit(key=k("scald"), control_point=k("ccp"), statement="Curd at 55 °C", low=55.0, **wash)
    )
    for document in (hot_wash, scald):
        assert not blocking(document) & {HEAT, "heat.missing"}
    # Nor does either stand in for the pasteurisation that is missing, and a programme of that name does not.
    for document in (hot_wash, scald):
        assert "heat.missing" in blocking(document.without({k("limit"), k("mark")}))
    assert "heat.missing" in blocking(changed(SOUND, "ccp", kind="prerequisite"))
    # Heating of whey is no treatment of raw milk.
    whey = dataclasses.replace(SOUND.products[0], treatment="raw", family="Whey cheese")
    whey_plan = dataclasses.replace(SOUND, products=(whey,))
    assert "heat.of_raw_milk" not in {one.rule for one in examine(whey_plan, circumstances())}


# Food Standards Code, Standard 4.2.4, clause 16(1)(b): 64.5 °C for 16 s, then 90 days at 7 °C or above.
# The 62 °C for 15 s of the older Standard 1.6.2 no longer does.
@pytest.mark.parametrize(("low", "hold_s", "days", "rule_id"), [
    (62.0, 15, 90, "heat.laxer_than_law"), (64.5, 16, 89, "ageing.below_law"), (64.5, 16, 90, None),
])  # fmt: skip
def test_thermisation_in_australia(low: float, hold_s: int, days: int, rule_id: str | None) -> None:
    document = changed(product(treatment="thermised"), "description", ageing_days=days, ageing_temperature_c=7.0)
    document = changed(document, "limit", low=low, target_low=None, parameters={"hold_s": hold_s})

    found = blocking(document, jurisdiction="AU") & {"heat.laxer_than_law", "ageing.below_law", "ageing.too_cold"}

    assert found == ({rule_id} if rule_id else set())


# 21 CFR 133.182(a): 60 days at 35 °F (1.7 °C) or above. FDR B.08.030(1): 60 days at 2 °C or above. None in the Union.
@pytest.mark.parametrize(
    ("jurisdiction", "days", "temperature_c", "found"),
    [
        ("US", 59, 1.7, {"ageing.below_law"}),
        ("US", 60, 1.7, set()),
        ("US", 60, 1.6, {"ageing.too_cold"}),
        ("CA", 60, 1.9, {"ageing.too_cold"}),
        ("CA", 60, 2.0, set()),
        ("EU", 1, 1.0, set()),
    ],
)
def test_ageing_of_raw_milk_cheese(jurisdiction: str, days: int, temperature_c: float, found: set[str]) -> None:
    document = changed(product(treatment="raw"), "description", ageing_days=days, ageing_temperature_c=temperature_c)

    assert blocking(document, jurisdiction=jurisdiction) & {"ageing.below_law", "ageing.too_cold"} == found


def test_a_limit_of_duration_states_the_ageing_too() -> None:
    aged = CriticalLimit(
        key=k("aged"), control_point=k("prp waste"), statement="Sixty days", quantity="duration", evaluator="reading",
        comparator="at_least", low=60 * 86_400.0, unit="d",
    )  # fmt: skip
    document = changed(product(treatment="raw"), "description", ageing_days=None).with_part(aged)

    assert "ageing.below_law" not in rules(document, jurisdiction="US")


# Regulation (EC) 2073/2005, Annex I, chapter 1, footnote 8.
@pytest.mark.parametrize(
    ("ph", "aw", "grows"),
    [(4.4, 0.98, False), (5.0, 0.94, False), (5.0, 0.95, True), (5.1, 0.93, True), (6.0, 0.92, False)],
)
def test_listeria_need_not_be_named_where_it_is_presumed_not_to_grow(ph: float, aw: float, grows: bool) -> None:
    unnamed = changed(SOUND, "listeria", agent="", name="Salmonella survives")
    document = changed(unnamed, "description", ph_low=None, ph_high=ph, water_activity_high=aw)

    assert ("product.listeria_growth" in rules(document)) == grows


def test_a_later_control_point_settles_the_answer_that_a_later_step_controls() -> None:
    earlier = Hazard(
        key=k("l milk"), step=k("milk"), kind="biological", name="Listeria in the milk", agent="listeria_monocytogenes",
        significant=True, likelihood=2, severity=5, justification="Raw milk.",
    )  # fmt: skip
    leads_on = DecisionAnswers(
        key=k("d milk"), hazard=earlier.key, step=k("milk"), answers={"q1": False, "q2": True, "q3": True}
    )

    assert "decision.later_ccp_missing" not in rules(SOUND.with_part(earlier).with_part(leads_on))


def test_a_plan_whose_tree_leaves_all_to_prerequisites_needs_no_critical_control_point() -> None:
    document = answers(q1=True)
    document = document.without({part.key for part in (*document.limits, *document.validations)})
    document = changed(without(document, "check", "m recorder", "v ccp"), "ccp", kind="prerequisite")

    assert "ccp.none" not in rules(document)


def test_limits_of_different_products_do_not_contradict_each_other() -> None:
    two = dataclasses.replace(
        SOUND, products=(*SOUND.products, dataclasses.replace(SOUND.products[0], code="XY", name="Other"))
    )
    cold = at_least_an_hour_of_room_temperature(2, 8, "cold", "2 to 8 °C")
    warm = at_least_an_hour_of_room_temperature(10, 14, "warm", "10 to 14 °C")

    apart = two.with_part(dataclasses.replace(cold, products=("BS",))).with_part(
        dataclasses.replace(warm, products=("XY",))
    )

    assert "limit.contradictory" not in rules(apart)
    assert "limit.contradictory" in rules(two.with_part(cold).with_part(warm))


def test_those_that_block_stand_first() -> None:
    document = changed(empty("team_members", "documents"), "judgement", answer="")

    severities = [finding.severity for finding in examine(document, circumstances(document))]

    assert severities == sorted(severities, key=[Severity.BLOCKS, Severity.WARNS, Severity.NOTES].index)


def test_examining_a_defective_draft_never_fails() -> None:
    """A draft may hold anything that can be stored: steps apart, control points of nothing, links in circles."""
    steps = tuple(Step(key=k(f"s{n}"), position=n, name=f"S{n}") for n in range(1, 4))
    links = tuple(Link(key=k(f"l{n}"), start=k(f"s{n}"), end=k(f"s{n % 3 + 1}")) for n in range(1, 4))
    point = ControlPoint(key=k("p"), kind="ccp", code="CCP 1", name="Nothing")

    assert examine(PlanDocument(), circumstances())
    assert "flow.cycle" in rules(PlanDocument(steps=steps, links=links, control_points=(point,)))


def test_steps_behind_a_lost_one_are_not_told_as_well() -> None:
    lost = [finding for finding in examine(changed(SOUND, "milk", kind="operation"), circumstances())
            if finding.rule == "flow.unreached"]  # fmt: skip
    assert len(lost) == 1
    assert "Nothing leads to" in lost[0].sentence

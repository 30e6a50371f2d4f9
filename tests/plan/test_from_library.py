"""A plan drafted from answers becomes a revision that the service can work with."""

import dataclasses
import datetime as dt
from typing import Any

import pytest

from haccp.plan import actions, library_store
from haccp.plan.from_library import DraftedPlan, cheese_add_from_answers, plan_draft_from_answers
from haccp.plan.library.joining import Joined
from haccp.plan.models import PlanRevision, Product
from haccp.plan.queries import findings_of
from haccp.plan.rows import read_plan
from haccp.premises.errors import ActionError, Conflict, NotAllowed
from tests.dairy import PASSWORD, Dairy, open_dairy

pytestmark = pytest.mark.django_db
AT = dt.datetime(2026, 11, 25, 9, 0, tzinfo=dt.UTC)
ANSWERS = {"jurisdiction": "EU", "species": "cow", "treatment": "pasteurised", "family": "brined"}


@pytest.fixture
def dairy() -> Dairy:
    library_store.library_load(at=AT)
    return open_dairy()


def drafted(dairy: Dairy, name: str = "Low Meadow", code: str = "LM", **answers: Any) -> DraftedPlan:
    return plan_draft_from_answers(
        scope=dairy.owner, answers={**ANSWERS, **answers}, product_name=name, product_code=code, at=AT
    )


def test_the_draft_becomes_a_revision_with_all_its_parts(dairy: Dairy) -> None:
    plan = drafted(dairy)
    revision = PlanRevision.objects.get(pk=plan.revision.pk)
    assert not revision.is_approved
    assert revision.steps.count() == len(plan.draft.steps)
    assert revision.hazards.count() == len(plan.draft.hazards)
    assert revision.control_points.exclude(code="REVIEW").count() == len(plan.draft.controls)
    assert revision.limits.count() == sum(len(control.borrowed) for control in plan.draft.controls)
    heat = revision.control_points.get(name="Pasteurisation")
    assert (heat.kind, heat.step.name) == ("ccp", "Pasteurising")
    assert heat.hazards.filter(name="Listeria monocytogenes").exists()
    hold = heat.limits.get(statement="At least 63 °C for 30 min without a break")
    assert hold.source_document == "Regulation (EC) 853/2004"
    assert "second hand" in hold.source_clause
    assert (hold.low, hold.parameters) == (63.0, {"hold_s": 1800})
    assert [measure.label for measure in hold.measures.all()] == ["Recorder file"]


def test_every_borrowed_limit_bears_its_source_and_its_entry(dairy: Dairy) -> None:
    document = read_plan(drafted(dairy).revision)
    marked = {mark.part: mark for mark in document.borrowed if mark.entry}
    assert document.limits
    for limit in document.limits:
        mark = marked[limit.key]
        assert (mark.document, mark.jurisdiction) == (limit.source_document, "EU")


def test_what_is_left_to_judge_is_asked_beside_its_part_and_blocks_approval(dairy: Dairy) -> None:
    plan = drafted(dairy)
    document = read_plan(plan.revision)
    acid = next(one for one in document.judgements if "Which pH must the curd have reached" in one.question)
    assert "Acidification" in document.title_of(acid.part)
    blocking = {finding.part_key for finding in findings_of(plan.revision, AT) if finding.blocks}
    assert {one.key for one in document.judgements} <= blocking
    with pytest.raises(ActionError, match=r"And \d+ more"):
        actions.revision_approve(scope=dairy.owner, revision=plan.revision, effective_from=AT, password=PASSWORD, at=AT)


def test_checks_of_places_are_made_for_each_place_there_is(dairy: Dairy) -> None:
    plan = drafted(dairy, family="hard")
    assert "Ripening room: Room 1" in set(plan.revision.checks.values_list("name", flat=True))
    assert plan.revision.checks.get(name="Cold store").subject == "premises"
    assert any("none is on file" in one.question for one in read_plan(plan.revision).judgements)


@pytest.mark.parametrize("jurisdiction", ["EU", "UK", "US", "AU", "CA"])
@pytest.mark.parametrize(
    ("treatment", "family"), [("raw", "blue"), ("thermised", "hard"), ("pasteurised", "whey_cheese")]
)
def test_drafts_of_every_jurisdiction_can_be_stored(
    dairy: Dairy, jurisdiction: str, treatment: str, family: str
) -> None:
    plan = drafted(dairy, jurisdiction=jurisdiction, treatment=treatment, family=family, species="goat")
    assert plan.revision.control_points.filter(kind="ccp").exists()
    # What SQLite would let pass, PostgreSQL would not.
    for rows in (plan.revision.limits, plan.revision.checks, plan.revision.hazards):
        for row in rows.all():
            row.clean_fields()


def test_the_parts_are_those_of_the_cheese(dairy: Dairy) -> None:
    plan = drafted(dairy, name=dairy.product.name, code=dairy.product.code, treatment=dairy.product.treatment)
    for step in plan.revision.steps.all():
        assert list(step.products.all()) == [dairy.product]
    for check in plan.revision.checks.filter(subject="batch"):
        assert list(check.products.all()) == [dairy.product]


@pytest.mark.parametrize("given", [{"species": "camel"}, {"name": " "}, {"code": "TOO LONG A CODE"}])
def test_answers_that_cannot_be_used_store_nothing(dairy: Dairy, given: dict[str, str]) -> None:
    before = PlanRevision.objects.count(), Product.objects.count()
    with pytest.raises(ActionError):
        drafted(dairy, **given)
    assert (PlanRevision.objects.count(), Product.objects.count()) == before


def test_a_code_of_another_cheese_is_refused(dairy: Dairy) -> None:
    other = "raw" if dairy.product.treatment == "pasteurised" else "pasteurised"
    with pytest.raises(Conflict, match="stands for"):
        drafted(dairy, name="Another", code=dairy.product.code, treatment=other)


def test_only_those_who_may_edit_plans_draft_them(dairy: Dairy) -> None:
    with pytest.raises(NotAllowed):
        plan_draft_from_answers(scope=dairy.helper, answers=ANSWERS, product_name="A", product_code="A", at=AT)


def test_a_second_cheese_joins_the_draft_and_what_was_edited_stays(dairy: Dairy) -> None:
    revision = drafted(dairy).revision
    step = revision.steps.all()[0]
    edited = dataclasses.replace(read_plan(revision).by_key[step.key], description="Tested with a strip at the door.")
    actions.part_change(scope=dairy.owner, revision=revision, part=edited)
    before = read_plan(revision)

    def add(code: str, **answers: Any) -> Joined:
        return cheese_add_from_answers(
            scope=dairy.owner, revision=revision, answers={**ANSWERS, **answers}, product_name=f"Cheese {code}",
            product_code=code, at=AT,
        )  # fmt: skip

    joined = add("BB", family="blue", treatment="raw")
    revision.refresh_from_db()
    after = read_plan(revision)
    assert set(before.by_key) < set(after.by_key)
    assert after.by_key[step.key].description == "Tested with a strip at the door."  # type: ignore[union-attr]
    assert [one.position for one in after.steps] == list(range(1, len(after.steps) + 1))
    assert tuple(one.key for one in after.steps) == joined.order
    assert joined.summary in revision.change_summary
    assert Product.objects.filter(premises=dairy.owner.premises, code="BB", treatment="raw").exists()
    # The same again, a code that stands for another cheese, and an approved revision are refused, with nothing stored.
    for code, answers, sentence in (
        ("BB", {"family": "blue", "treatment": "raw"}, "speaks of BB already"),
        ("WT", {"family": "hard", "species": "goat"}, "stands for Weir Tomme"),
    ):
        with pytest.raises(Conflict, match=sentence):
            add(code, **answers)
    assert read_plan(revision) == after
    with pytest.raises(ActionError, match="approved and frozen"):
        cheese_add_from_answers(
            scope=dairy.owner, revision=dairy.revision, answers=ANSWERS, product_name="X", product_code="XX", at=AT
        )

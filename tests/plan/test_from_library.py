"""A plan drafted from answers becomes rows that the service can work with."""

import datetime as dt

import pytest

from haccp.plan import actions, library_store
from haccp.plan.from_library import DraftedPlan, plan_draft_from_answers
from haccp.plan.library.conditions import Answer
from haccp.plan.models import PlanRevision
from haccp.premises.errors import ActionError, NotAllowed
from tests.dairy import PASSWORD, Dairy, open_dairy

pytestmark = pytest.mark.django_db
AT = dt.datetime(2026, 11, 25, 9, 0, tzinfo=dt.UTC)


@pytest.fixture
def dairy() -> Dairy:
    library_store.library_load(at=AT)
    return open_dairy()


def drafted(dairy: Dairy, **answers: Answer) -> DraftedPlan:
    given: dict[str, Answer] = {"jurisdiction": "EU", "species": "cow", "treatment": "pasteurised", "family": "brined"}
    return plan_draft_from_answers(scope=dairy.owner, answers={**given, **answers}, at=AT)


def test_the_draft_becomes_a_revision_with_all_its_parts(dairy: Dairy) -> None:
    plan = drafted(dairy)
    revision = PlanRevision.objects.get(pk=plan.revision.pk)
    assert not revision.is_approved
    assert revision.steps.count() == len(plan.draft.steps)
    assert revision.hazards.count() == len(plan.draft.hazards)
    assert revision.control_points.count() == len(plan.draft.controls)
    assert revision.limits.count() == sum(len(control.borrowed) for control in plan.draft.controls)
    heat = revision.control_points.get(name="Pasteurisation")
    assert (heat.kind, heat.step.name) == ("ccp", "Pasteurising")
    assert heat.hazards.filter(name="Listeria monocytogenes").exists()
    hold = heat.limits.get(statement="At least 63 °C for 30 min without a break")
    assert hold.source_document == "Regulation (EC) 853/2004"
    assert "second hand" in hold.source_clause
    assert (hold.low, hold.parameters) == (63.0, {"hold_s": 1800})
    assert [measure.label for measure in hold.measures.all()] == ["Recorder file"]


def test_what_is_left_to_judge_is_written_into_the_draft_and_blocks_approval(dairy: Dairy) -> None:
    plan = drafted(dairy)
    assert "Which pH must the curd have reached" in plan.revision.change_summary
    with pytest.raises(ActionError, match="Acidification has no critical limit"):
        actions.revision_approve(scope=dairy.owner, revision=plan.revision, effective_from=AT, password=PASSWORD, at=AT)


def test_checks_of_places_are_made_for_each_place_there_is(dairy: Dairy) -> None:
    plan = drafted(dairy, family="hard")
    names = set(plan.revision.checks.values_list("name", flat=True))
    assert "Ripening room: Room 1" in names
    cold = plan.revision.checks.get(name="Cold store")
    assert cold.subject == "premises"
    assert any("none is on file" in judgement.question for judgement in plan.open_judgements)


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
    for limit in plan.revision.limits.all():
        limit.clean_fields()
    for check in plan.revision.checks.all():
        check.clean_fields()
    for hazard in plan.revision.hazards.all():
        hazard.clean_fields()


def test_the_parts_can_be_those_of_one_cheese(dairy: Dairy) -> None:
    plan = plan_draft_from_answers(
        scope=dairy.owner,
        answers={"jurisdiction": "EU", "species": "cow", "treatment": "raw", "family": "hard"},
        at=AT,
        product=dairy.product,
    )
    for step in plan.revision.steps.all():
        assert list(step.products.all()) == [dairy.product]
    for check in plan.revision.checks.all():
        assert list(check.products.all()) == [dairy.product]


def test_answers_that_cannot_be_used_store_nothing(dairy: Dairy) -> None:
    before = PlanRevision.objects.count()
    with pytest.raises(ActionError, match="camel"):
        drafted(dairy, species="camel")
    assert PlanRevision.objects.count() == before


def test_only_those_who_may_approve_plans_draft_them(dairy: Dairy) -> None:
    with pytest.raises(NotAllowed):
        plan_draft_from_answers(
            scope=dairy.helper,
            answers={"jurisdiction": "EU", "species": "cow", "treatment": "raw", "family": "hard"},
            at=AT,
        )


def test_another_dairy_s_cheese_is_not_taken(dairy: Dairy) -> None:
    stranger = open_dairy(name="Hill Farm Dairy")
    with pytest.raises(ActionError, match="no such cheese"):
        plan_draft_from_answers(
            scope=dairy.owner,
            answers={"jurisdiction": "EU", "species": "cow", "treatment": "raw", "family": "hard"},
            at=AT,
            product=stranger.product,
        )

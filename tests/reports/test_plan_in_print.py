"""The plan as a document: all twelve steps, the drawn flow, and the answers of the decision tree, read back."""

from datetime import UTC, datetime
from io import BytesIO

import pypdf
import pytest
from django.urls import reverse

from haccp.plan import actions
from haccp.plan.document.parts import TeamMember
from haccp.plan.flow_diagram import STEPS_ON_A_SHEET, flow_sheets
from haccp.plan.from_library import plan_draft_from_answers
from haccp.plan.models import PlanRevision
from haccp.plan.rows import read_plan
from tests.dairy import Dairy, open_dairy
from tests.plan.sound_plan import sound_plan
from tests.web.pages import signed_in, stranger

AT = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


@pytest.fixture
def dairy(db: None) -> Dairy:
    return open_dairy()


def printed(dairy: Dairy, revision: PlanRevision) -> str:
    answer = signed_in(dairy.helper).get(reverse("reports:plan_pdf", args=[revision.pk]))
    assert answer.headers["Content-Type"] == "application/pdf"
    pages = pypdf.PdfReader(BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_a_printed_plan_holds_all_twelve_steps(dairy: Dairy) -> None:
    """CXC 1-1969 (2022), chapter two, section 3: the twelve steps of application."""
    draft = actions.plan_take_in(scope=dairy.owner, document=sound_plan(), at=AT)
    text = printed(dairy, draft)
    for said in (
        "draft: not approved", "1 Team", "Food hygiene course 2024.", "2 and 3 Products", "Brook Square",
        "we advise against the rind in pregnancy", "4 Flow diagram", "5 Confirmation on site", "has not been confirmed",
        "6 The scale of likelihood", "Hazard worksheet and decision tree", "Q1 no, Q2 yes, Q3 no, Q4 yes: CCP",
        "63 °C for 30 min", "Cheese made of it is held and destroyed.",
        "11 Validation", "5 log of Coxiella burnetii", "11 Verification", "Review of the records", "11 Review",
        "12 Documents and records", "730 days", "Which instrument?", "Regulation (EC) 853/2004",
    ):  # fmt: skip
        assert said in text, said
    assert "Its records in this pack" not in text


def test_the_flow_is_drawn_with_each_step_once_and_cut_to_sheets(dairy: Dairy) -> None:
    answers = {"jurisdiction": "EU", "species": "cow", "treatment": "raw", "family": "blue", "salting": "brine"}
    made = plan_draft_from_answers(scope=dairy.owner, answers=answers, product_name="Blue", product_code="BL", at=AT)
    document = read_plan(made.revision)
    assert len(document.steps) > STEPS_ON_A_SHEET
    sheets = list(flow_sheets(document, title="Flow"))
    assert len(sheets) == 2
    assert any("→" in way for way in sheets[0][1])
    text = printed(dairy, made.revision)
    for step in document.steps:
        assert f"{step.position} {step.name}" in text


def test_what_people_wrote_is_printed_as_text(dairy: Dairy) -> None:
    document = sound_plan().with_part(TeamMember(name="<b>Bo</b> & =1+1", competence="<script>"))
    text = printed(dairy, actions.plan_take_in(scope=dairy.owner, document=document, at=AT))
    assert "<b>Bo</b> & =1+1" in text
    assert "<script>" in text


def test_a_stranger_prints_nothing(dairy: Dairy) -> None:
    assert stranger().get(reverse("reports:plan_pdf", args=[dairy.revision.pk])).status_code == 404

"""The plan as a person reads one, and its flow drawn."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from django.urls import reverse

from haccp.drawing.flow_chart import Control, Flow, FlowStep, flow
from haccp.drawing.layout import COMPACT, WIDE, Layout
from haccp.drawing.picture import Rect, Text
from haccp.drawing.roles import Role
from haccp.drawing.svg import to_svg
from haccp.plan import actions
from haccp.plan.document.parts import ProductDescription
from haccp.plan.models import Hazard, ProcessStep
from tests.dairy import OPENED_AT, PASSWORD, Dairy, open_dairy
from tests.web.pages import reader, signed_in

STEPS = (
    FlowStep(1, "Receiving the milk", controls=(Control("PRP 1", "Milk acceptance", is_critical=False),)),
    FlowStep(2, "Pasteurisation", "Weir Tomme", (Control("CCP 1", "Heat treatment in the vat", is_critical=True),)),
    FlowStep(3, "Ripening & care"),
)  # fmt: skip


@pytest.mark.parametrize("layout", [WIDE, COMPACT])
def test_a_flow_shows_each_step_once_in_order_and_within_the_sheet(layout: Layout) -> None:
    picture = flow(Flow("Flow", "Three steps.", STEPS, layout))
    boxes = [item for item in picture.items if isinstance(item, Rect) and item.role is Role.AXIS]
    assert len(boxes) == 3
    assert all(above.y + above.height < below.y for above, below in pairwise(boxes))
    assert max(box.y + box.height for box in boxes) <= picture.height
    words = " ".join(item.text for item in picture.items if isinstance(item, Text))
    assert "1 Receiving the milk" in words.replace("  ", " ")
    assert "CCP 1" in words
    ElementTree.fromstring(to_svg(picture, id_prefix="flow"))  # well-formed, "&" escaped  # noqa: S314


def test_a_critical_control_point_is_told_apart_without_colour() -> None:
    """Two outlines against one."""
    picture = flow(Flow("Flow", "Three steps.", STEPS))
    tags = [item.role for item in picture.items if isinstance(item, Rect) and item.role is not Role.AXIS]
    assert tags == [Role.MUTED, Role.LIMIT, Role.LIMIT]


def test_a_flow_without_steps_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one step"):
        flow(Flow("Flow", "", ()))


@pytest.fixture
def dairy(db: None) -> Dairy:
    return open_dairy()


def second_revision(dairy: Dairy) -> None:
    """A revision with a step, a hazard and a sourced limit, in force since yesterday."""
    at = datetime.now(UTC) - timedelta(days=1)
    revision = actions.revision_draft(
        scope=dairy.owner, scope_statement="Pasteurised cheese.", change_summary="Flow added.", at=at
    )
    step = ProcessStep.objects.create(revision=revision, position=1, name="Pasteurisation")
    hazard = Hazard.objects.create(
        revision=revision,
        step=step,
        kind="biological",
        name="Listeria monocytogenes",
        likelihood=2,
        severity=4,
        significant=True,
        justification="Found in raw milk.",
        control_measure="Heat treatment",
    )
    actions.control_point_add(
        scope=dairy.owner,
        revision=revision,
        draft=actions.ControlPointDraft(
            code="CCP 1",
            name="Pasteurisation",
            kind="ccp",
            corrective_action="Divert the milk.",
            step=step,
            hazards=[hazard],
            verification="Phosphatase test each week.",
            limits=[
                actions.LimitDraft(
                    key="hold",
                    statement="At least 63 °C for 30 min",
                    quantity="temperature",
                    evaluator="holding",
                    comparator="at_least",
                    low=63.0,
                    parameters={"hold_s": 1800},
                    source_document="Regulation (EC) No 853/2004",
                    source_clause="Annex III, section IX, chapter II",
                )
            ],
            checks=[
                actions.CheckDraft(
                    name="Room at eight",
                    subject="premises",
                    cadence={
                        "kind": "clock",
                        "rrule": "FREQ=DAILY;BYHOUR=8;BYMINUTE=0;BYSECOND=0",
                        "from": "2026-01-01",
                    },
                    measures=[actions.MeasureDraft("Recorder file", "recorder_file", "temperature", limits=["hold"])],
                    who="the cheesemaker",
                    how="Read the chart.",
                )
            ],
        ),
    )
    described = ProductDescription(product=dairy.product.code, composition="Cow's milk, salt, rennet")
    actions.part_add(scope=dairy.owner, revision=revision, part=described)
    actions.revision_approve(scope=dairy.owner, revision=revision, effective_from=at, password=PASSWORD, at=at)


def test_the_plan_in_force_is_read_in_words(dairy: Dairy) -> None:
    second_revision(dairy)
    page = signed_in(dairy.helper).get(reverse("plan:plan")).content.decode()
    for words in (
        "Revision 2, in force",
        "Pasteurised cheese.",
        "Weir Tomme",
        "Listeria monocytogenes",
        "At least 63 °C for 30 min",
        "Source: Regulation (EC) No 853/2004, Annex III, section IX, chapter II",
        "every day at 08:00",
        "the cheesemaker",
        "Divert the milk.",
        "Phosphatase test each week.",
        "Orla Owner",
        actions.APPROVAL_STATEMENT,
        "1 Pasteurisation (CCP 1).",  # what the flow says to somebody who cannot see it
    ):
        assert words in page, words


def test_another_approved_revision_is_listed_and_read_with_a_warning(dairy: Dairy) -> None:
    second_revision(dairy)
    client = signed_in(dairy.helper)
    assert '"?revision=1"' in client.get(reverse("plan:plan")).content.decode()
    old = client.get(reverse("plan:plan"), {"revision": "1"}).content.decode()
    assert "This revision is not the one in force." in old
    assert "All cheese." in old
    for number in ("3", "x", "-1", "9" * 40):
        assert client.get(reverse("plan:plan"), {"revision": number}).status_code == 404


def test_a_draft_is_not_shown(dairy: Dairy) -> None:
    actions.revision_draft(scope=dairy.owner, scope_statement="Secret.", change_summary="", at=OPENED_AT)
    assert signed_in(dairy.helper).get(reverse("plan:plan"), {"revision": "2"}).status_code == 404


def test_who_only_reads_reads_the_plan(dairy: Dairy) -> None:
    assert reader(dairy).get(reverse("plan:plan")).status_code == 200

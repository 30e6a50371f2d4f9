"""Working on a draft: beginning one, its sections, forms of parts, findings beside their place, and its file."""

import json
import re
from datetime import UTC, datetime
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from haccp.lots.kinds import EventKind
from haccp.plan import actions
from haccp.plan.document.document import KINDS
from haccp.plan.document.file import MOST_BYTES, write_file
from haccp.plan.document.parts import Hazard, Step, TeamMember
from haccp.plan.forms.how_often import EVENTS
from haccp.plan.models import PlanRevision, Product
from haccp.plan.rows import read_plan
from haccp.plan.sections import SECTIONS
from haccp.premises.models import Place
from tests.dairy import Dairy, open_dairy
from tests.plan.sound_plan import sound_plan
from tests.web.conftest import page_of
from tests.web.pages import reader, signed_in, stranger

AT = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
HOSTILE = '<script>alert(1)</script> =HYPERLINK("http://x","y")'
SLUGS = [section.slug for section in SECTIONS]
KINDS_SHOWN = sorted({(one.slug, shown.kind) for one in SECTIONS for shown in one.shown if shown.adds})


@pytest.fixture
def dairy(db: None) -> Dairy:
    return open_dairy()


@pytest.fixture
def owner(dairy: Dairy) -> Client:
    return signed_in(dairy.owner)


@pytest.fixture
def draft(dairy: Dairy) -> PlanRevision:
    """A copy of the plan in force with a whole plan of another cheese would be two; this is the sound one alone."""
    return actions.plan_take_in(scope=dairy.owner, document=sound_plan(), at=AT)


def section(draft: PlanRevision, slug: str) -> str:
    return reverse("plan:section", args=[draft.pk, slug])


def test_events_of_a_cadence_are_those_that_lots_have() -> None:
    """The plan knows no lots; a cadence of an event that never happens would never fall due."""
    # The use of equipment has cadences of its own.
    assert [key for key, _ in EVENTS] == [kind for kind in EventKind.values if kind != EventKind.EQUIPMENT_USED]


def test_every_kind_of_part_is_shown_in_some_section() -> None:
    shown = {one.kind for part in SECTIONS for one in part.shown}
    assert shown | {"decisions"} == set(KINDS)


@pytest.mark.parametrize("slug", SLUGS)
def test_each_section_shows_what_people_wrote_as_text(dairy: Dairy, owner: Client, slug: str) -> None:
    document = sound_plan()
    hostile = [
        TeamMember(name=HOSTILE[:120], competence=HOSTILE),
        Step(position=90, name=HOSTILE[:80], description=HOSTILE),
    ]
    step = hostile[1]
    hostile.append(Hazard(step=step.key, kind="physical", name=HOSTILE, justification=HOSTILE))  # type: ignore[arg-type]
    for part in hostile:
        document = document.with_part(part)
    draft = actions.plan_take_in(scope=dairy.owner, document=document, at=AT)
    answer = owner.get(section(draft, slug))
    assert answer.status_code == 200
    assert "<script>alert" not in answer.content.decode()


@pytest.mark.parametrize(("slug", "kind"), KINDS_SHOWN)
def test_an_empty_form_comes_back_with_a_sentence_and_stores_nothing(
    owner: Client, draft: PlanRevision, slug: str, kind: str
) -> None:
    before = write_file(read_plan(draft))
    address = reverse("plan:part_add", args=[draft.pk, slug, kind])
    assert owner.get(address).status_code == 200
    answer = owner.post(address, {"key": str(uuid4())})
    assert answer.status_code in (302, 422)
    if answer.status_code == 422:
        assert "form-errors" in answer.content.decode()
        assert write_file(read_plan(draft)) == before


def test_a_part_is_added_changed_and_removed(owner: Client, draft: PlanRevision) -> None:
    key = str(uuid4())
    add = reverse("plan:part_add", args=[draft.pk, "team", "team_members"])
    answer = owner.post(add, {"key": key, "name": "Ben", "duty": "keeps records"})
    assert answer.headers["Location"] == f"{section(draft, 'team')}#part-{key}"
    # A double tap is one person.
    assert owner.post(add, {"key": key, "name": "Ben", "duty": "keeps records"}).status_code == 302
    assert [one.name for one in read_plan(draft).team_members] == ["Ada", "Ben"]

    change = reverse("plan:part_change", args=[draft.pk, "team", key])
    assert 'value="keeps records"' in owner.get(change).content.decode()
    owner.post(change, {"key": key, "name": "Ben Hollis", "competence": "Course of 2025"})
    assert "Ben Hollis" in page_of(owner.get(section(draft, "team")))

    remove = reverse("plan:part_remove", args=[draft.pk, "team", key])
    assert "Remove this team member?" in page_of(owner.get(remove))
    owner.post(remove)
    assert [one.name for one in read_plan(draft).team_members] == ["Ada"]


def test_a_change_made_meanwhile_is_not_undone_unseen(owner: Client, draft: PlanRevision) -> None:
    [ada] = read_plan(draft).team_members
    change = reverse("plan:part_change", args=[draft.pk, "team", ada.key])
    seen = re.findall(r'name="seen_sha256" value="(\w+)"', owner.get(change).content.decode())[0]
    first = {"key": ada.key, "name": "Ada Moor", "seen_sha256": seen}
    assert owner.post(change, first).status_code == 302
    assert owner.post(change, first).status_code == 302  # a double tap changes nothing

    refused = owner.post(change, {"key": ada.key, "name": "Ada Weir", "seen_sha256": seen})
    assert refused.status_code == 409
    assert "changed by somebody else" in page_of(refused)
    assert 'value="Ada Weir"' in refused.content.decode()
    assert [one.name for one in read_plan(draft).team_members] == ["Ada Moor"]

    again = re.findall(r'name="seen_sha256" value="(\w+)"', refused.content.decode())[0]
    assert owner.post(change, {"key": ada.key, "name": "Ada Weir", "seen_sha256": again}).status_code == 302
    assert [one.name for one in read_plan(draft).team_members] == ["Ada Weir"]


def test_what_is_still_used_is_not_removed_and_says_by_what(owner: Client, draft: PlanRevision) -> None:
    heat = next(step for step in read_plan(draft).steps if step.name == "Heat")
    address = reverse("plan:part_remove", args=[draft.pk, "flow", heat.key])
    assert "still used" in page_of(owner.get(address))
    answer = owner.post(address)
    assert answer.status_code == 422
    assert "still used by" in page_of(answer)


def test_a_limit_is_typed_in_its_own_unit_and_a_time_in_words(owner: Client, draft: PlanRevision) -> None:
    """145 °F is 62.78 °C: NIST SP 811, appendix B.8."""
    document = read_plan(draft)
    limit, measure = document.limits[0], next(one for one in document.measures if one.limits)
    address = reverse("plan:part_change", args=[draft.pk, "limits", limit.key])
    typed = {
        "key": limit.key, "control_point": limit.control_point, "statement": "145 °F for 30 min",
        "quantity": "temperature", "evaluator": "holding", "comparator": "at_least", "unit": "°F", "low": "145",
        "hold_s": "30 min", "watched_at": [measure.key], "source_document": "21 CFR 1240.61(b)",
    }  # fmt: skip
    assert owner.post(address, typed).status_code == 302
    saved = read_plan(draft).limits[0]
    assert saved.low == pytest.approx(62.78, abs=0.01)
    assert saved.parameters == {"hold_s": 1800}
    page = owner.get(address).content.decode()
    assert 'name="low" value="145"' in page
    assert 'value="30 min"' in page


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("low", "sixty-three", "is not a number"),
        ("hold_s", "a while", "no length of time"),
        ("unit", "pH", "°C"),
        ("within_s", "6 h", "has no such value"),
        ("low", "", "needs a lowest value"),
    ],
)
def test_a_limit_that_cannot_be_judged_is_refused_with_everything_kept(
    owner: Client, draft: PlanRevision, field: str, typed: str, said: str
) -> None:
    limit = read_plan(draft).limits[0]
    address = reverse("plan:part_change", args=[draft.pk, "limits", limit.key])
    sent = {
        "key": limit.key, "control_point": limit.control_point, "statement": "Kept wording", "quantity": "temperature",
        "evaluator": "holding", "comparator": "at_least", "unit": "°C", "low": "63", "hold_s": "30 min",
    } | {field: typed}  # fmt: skip
    answer = owner.post(address, sent)
    page = page_of(answer)
    assert answer.status_code == 422
    assert said in page
    assert "Kept wording</textarea>" in page
    assert not typed or f'value="{typed}"' in page
    assert read_plan(draft).limits[0] == limit


def test_a_measure_that_a_limit_takes_up_or_lets_go_follows_it(owner: Client, draft: PlanRevision) -> None:
    document = read_plan(draft)
    limit = document.limits[0]
    address = reverse("plan:part_change", args=[draft.pk, "limits", limit.key])
    sent = {
        "key": limit.key, "control_point": limit.control_point, "statement": limit.statement, "quantity": "temperature",
        "evaluator": "holding", "comparator": "at_least", "unit": "°C", "low": "63", "hold_s": "30 min",
    }  # fmt: skip
    owner.post(address, sent)
    assert not any(measure.limits for measure in read_plan(draft).measures)
    recorder = next(one for one in document.measures if one.kind == "recorder_file")
    owner.post(address, sent | {"watched_at": [recorder.key]})
    assert read_plan(draft).by_key[recorder.key].limits == (limit.key,)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("typed", "stored"),
    [
        (
            {"often": "weekdays", "often_days": ["MO", "TH"], "often_times": "7:00, 18.00"},
            "FREQ=WEEKLY;BYDAY=MO,TH;BYHOUR=7,18;BYMINUTE=0;BYSECOND=0",
        ),
        (
            {"often": "days", "often_every": "2", "often_times": "07:30"},
            "FREQ=DAILY;INTERVAL=2;BYHOUR=7;BYMINUTE=30;BYSECOND=0",
        ),
        (
            {"often": "months", "often_day": "15", "often_times": "09:00"},
            "FREQ=MONTHLY;BYMONTHDAY=15;BYHOUR=9;BYMINUTE=0;BYSECOND=0",
        ),
    ],
)
def test_how_often_is_typed_in_words_and_stored_as_a_rule(
    owner: Client, draft: PlanRevision, typed: dict[str, object], stored: str
) -> None:
    """Recurrence rules are those of RFC 5545, section 3.3.10."""
    check = next(one for one in read_plan(draft).checks if one.name == "Check of water")
    address = reverse("plan:part_change", args=[draft.pk, "monitoring", check.key])
    sent = {
        "key": check.key, "control_point": check.control_point, "name": check.name, "subject": "premises",
        "often_every": "1", "rests": "never", "if_missed": "flagged",
    } | typed  # fmt: skip
    assert owner.post(address, sent).status_code == 302
    saved = read_plan(draft).by_key[check.key]
    assert saved.cadence["rrule"] == stored  # type: ignore[union-attr]
    page = owner.get(address).content.decode()
    assert f'<option value="{typed["often"]}" selected>' in page


def test_a_rule_that_the_form_cannot_say_is_kept_as_it_is(dairy: Dairy, owner: Client) -> None:
    document = sound_plan()
    check = next(one for one in document.checks if one.name == "Check of pests")
    odd = {"kind": "clock", "rrule": "FREQ=MONTHLY;BYDAY=1MO;BYHOUR=8;BYMINUTE=0", "from": "2026-01-05"}
    draft = actions.plan_take_in(
        scope=dairy.owner, document=document.with_part(type(check)(**{**vars(check), "cadence": odd})), at=AT
    )
    address = reverse("plan:part_change", args=[draft.pk, "monitoring", check.key])
    assert '<option value="keep" selected>' in owner.get(address).content.decode()
    sent = {
        "key": check.key,
        "control_point": check.control_point,
        "name": "Traps",
        "subject": "premises",
        "rests": "never",
        "if_missed": "flagged",
    }
    assert owner.post(address, sent | {"often": "keep"}).status_code == 302
    saved = read_plan(draft).by_key[check.key]
    assert (saved.title, saved.cadence) == ("Traps", odd)  # type: ignore[union-attr]


def test_findings_stand_beside_their_place_and_on_one_page(owner: Client, draft: PlanRevision) -> None:
    document = read_plan(draft)
    limit = document.limits[0]
    owner.post(
        reverse("plan:part_change", args=[draft.pk, "limits", limit.key]),
        {
            "key": limit.key, "control_point": limit.control_point, "statement": "60 °C for 5 min",
            "quantity": "temperature", "evaluator": "holding", "comparator": "at_least", "unit": "°C", "low": "60",
            "hold_s": "5 min",
        },
    )  # fmt: skip
    beside = page_of(owner.get(section(draft, "limits")))
    assert "is laxer than the law" in beside
    listed = page_of(owner.get(reverse("plan:findings", args=[draft.pk])))
    assert "heat.laxer_than_law" in listed
    assert f"{section(draft, 'limits')}#part-{limit.key}" in listed
    assert "blocking" in page_of(owner.get(reverse("plan:workspace", args=[draft.pk])))


def test_the_tree_is_answered_one_question_at_a_time_and_its_end_is_worked_out(
    dairy: Dairy, owner: Client, draft: PlanRevision
) -> None:
    """CXC 1-1969 (2022), Annex IV, figure 1: no, yes, no, yes is a critical control point."""
    heat = next(step for step in read_plan(draft).steps if step.name == "Heat")
    hazard = Hazard(step=heat.key, kind="biological", name="Salmonella", significant=True)
    actions.part_add(scope=dairy.owner, revision=draft, part=hazard)
    address = reverse("plan:tree", args=[draft.pk, hazard.key])
    for asked, answer in (("q1", "no"), ("q2", "yes"), ("q3", "no"), ("q4", "yes")):
        page = owner.get(address).content.decode()
        assert f'name="asked" value="{asked}"' in page
        assert owner.post(address, {"step": heat.key, "asked": asked, "answer": answer}).status_code == 302
    decision = next(one for one in read_plan(draft).decisions if one.hazard == hazard.key)
    assert decision.answers == {"q1": False, "q2": True, "q3": False, "q4": True}
    assert "Critical control point." in page_of(owner.get(address))
    owner.post(address, {"step": heat.key, "back": "1"})
    assert "q4" not in next(one for one in read_plan(draft).decisions if one.hazard == hazard.key).answers


def test_questions_are_answered_together(dairy: Dairy, owner: Client, draft: PlanRevision) -> None:
    question = read_plan(draft).judgements[0]
    address = reverse("plan:answer_questions", args=[draft.pk])
    assert owner.post(address, {f"answer-{question.key}": HOSTILE}).status_code == 302
    assert read_plan(draft).judgements[0].answer == HOSTILE
    refused = owner.post(address, {f"answer-{question.key}": "kept as typed", f"answer-{uuid4()}": "x"})
    assert refused.status_code == 422
    assert "kept as typed" in page_of(refused)


def test_answers_give_a_draft_and_are_kept_when_refused(owner: Client) -> None:
    address = reverse("plan:answers")
    assert "Whose milk is it?" in page_of(owner.get(address))
    given = {
        "product_name": "Brined Buffalo", "product_code": "BB", "jurisdiction": "EU", "species": "buffalo",
        "treatment": "pasteurised", "family": "brined", "ageing_days": "thirty",
    }  # fmt: skip
    refused = owner.post(address, given)
    page = refused.content.decode()
    assert refused.status_code == 422
    assert 'value="Brined Buffalo"' in page
    assert 'value="thirty"' in page
    assert Product.objects.filter(code="BB").count() == 0
    made = owner.post(address, given | {"ageing_days": "30"}, follow=True)
    assert "only you can answer" in page_of(made)
    document = read_plan(PlanRevision.objects.first())  # type: ignore[arg-type]  # newest first
    assert {"buffalo"} == {product.species for product in document.products if product.code == "BB"}


def test_a_cheese_from_answers_leaves_what_is_in_force_in_the_draft(dairy: Dairy, owner: Client) -> None:
    document = actions.plan_take_in(scope=dairy.owner, document=sound_plan(), at=AT)
    in_force = read_plan(dairy.revision)
    made = owner.post(
        reverse("plan:answers"),
        {
            "product_name": "Brined Buffalo", "product_code": "BB", "jurisdiction": "EU", "species": "buffalo",
            "treatment": "pasteurised", "family": "brined",
        },
        follow=True,
    )  # fmt: skip
    assert "Your draft is ready: Revision 1, and one more cheese." in page_of(made)
    draft = PlanRevision.objects.first()
    assert draft is not None
    assert draft != document
    kept = read_plan(draft)
    assert {point.code for point in in_force.control_points} <= {point.code for point in kept.control_points}
    assert "BB" in {description.product for description in kept.descriptions}


def test_a_cheese_that_is_no_longer_made_needs_no_description(dairy: Dairy, owner: Client) -> None:
    draft = actions.plan_take_in(scope=dairy.owner, document=sound_plan(), at=AT)
    left_out = dairy.product
    said = f"{left_out.name} is made here, and this plan does not describe it."
    assert said in page_of(owner.get(reverse("plan:findings", args=[draft.pk])))
    maker = signed_in(dairy.maker)
    assert maker.post(reverse("plan:product_retire", args=[draft.pk, left_out.pk])).status_code == 403
    page = page_of(owner.post(reverse("plan:product_retire", args=[draft.pk, left_out.pk]), follow=True))
    assert f"{left_out.name} is no longer made." in page
    assert said not in page_of(owner.get(reverse("plan:findings", args=[draft.pk])))
    again = owner.post(reverse("plan:product_retire", args=[draft.pk, left_out.pk]), follow=True)
    assert "is not made any more as it is" in page_of(again)
    owner.post(reverse("plan:product_restore", args=[draft.pk, left_out.pk]))
    assert said in page_of(owner.get(reverse("plan:findings", args=[draft.pk])))


def test_many_findings_of_one_rule_are_one_line_with_the_rest_behind_it(owner: Client, dairy: Dairy) -> None:
    document = sound_plan()
    for number in range(12, 18):
        document = document.with_part(Step(position=number, name=f"Loose step {number}"))
    draft = actions.plan_take_in(scope=dairy.owner, document=document, at=AT)
    page = page_of(owner.get(reverse("plan:findings", args=[draft.pk])))
    assert "And 5 more of this kind" in page
    assert all(f"Loose step {number}" in page for number in range(12, 18))


def test_a_plan_goes_out_as_a_file_and_comes_back_the_same(dairy: Dairy, owner: Client, draft: PlanRevision) -> None:
    exported = owner.get(reverse("plan:export", args=[draft.pk]))
    assert exported.headers["Content-Type"] == "application/json"
    file = SimpleUploadedFile("plan.json", exported.content)
    answer = owner.post(reverse("plan:take_in"), {"file": file})
    assert answer.status_code == 302
    again = PlanRevision.objects.exclude(pk=draft.pk).order_by("-number").first()
    assert again is not None
    assert owner.get(reverse("plan:export", args=[again.pk])).content == exported.content


def newer_schema() -> bytes:
    return json.dumps({"schema_version": 2}).encode()


@pytest.mark.parametrize(
    ("content", "said"),
    [(b"not json", "is not JSON"), (newer_schema(), "newer than"), (b" " * (MOST_BYTES + 9), "at most 10 MB")],
)
def test_a_file_that_is_no_plan_is_refused_and_stores_nothing(owner: Client, content: bytes, said: str) -> None:
    before = PlanRevision.objects.count(), Place.objects.count()
    answer = owner.post(reverse("plan:take_in"), {"file": SimpleUploadedFile("plan.json", content)})
    assert answer.status_code == 422
    assert said in page_of(answer)
    assert (PlanRevision.objects.count(), Place.objects.count()) == before


def test_a_consultant_edits_and_a_helper_only_reads(dairy: Dairy, draft: PlanRevision) -> None:
    add = reverse("plan:part_add", args=[draft.pk, "team", "team_members"])
    consultant, helper = reader(dairy), signed_in(dairy.helper)
    assert consultant.post(add, {"key": str(uuid4()), "name": "Cy"}).status_code == 302
    assert helper.post(add, {"key": str(uuid4()), "name": "Di"}).status_code == 403
    page = page_of(helper.get(section(draft, "team")))
    assert "Cy" in page
    assert "Remove" not in page
    assert stranger().get(section(draft, "team")).status_code == 404


def test_an_approved_revision_is_read_and_not_edited(dairy: Dairy, owner: Client) -> None:
    page = page_of(owner.get(section(dairy.revision, "limits")))
    assert "approved and frozen" in page
    assert "Remove" not in page
    answer = owner.post(
        reverse("plan:part_add", args=[dairy.revision.pk, "team", "team_members"]), {"key": str(uuid4()), "name": "Ed"}
    )
    assert answer.status_code == 422
    assert "is approved and frozen" in page_of(answer)
    assert 'value="Ed"' in page_of(answer)


@pytest.mark.parametrize("slug", ["", *SLUGS, "findings", "approval", "differences"])
def test_a_page_of_the_draft_costs_the_same_queries_whatever_its_size(
    dairy: Dairy, owner: Client, draft: PlanRevision, slug: str
) -> None:
    address = f"{reverse('plan:workspace', args=[draft.pk])}{slug}{'/' if slug else ''}"
    owner.get(address)
    with CaptureQueriesContext(connection) as few:
        owner.get(address)
    document = read_plan(draft)
    parts = [Hazard(step=step.key, kind="physical", name=f"Splinter {n}") for n in range(10) for step in document.steps]
    actions.parts_add(scope=dairy.owner, revision=draft, parts=[*parts, *(TeamMember(name=f"P {n}") for n in range(9))])
    with CaptureQueriesContext(connection) as many:
        owner.get(address)
    assert len(many) == len(few)
    # Some thirty tables of a plan, the session, what every page knows; another plan or two to lay beside it.
    assert len(few) < (110 if slug == "approval" else 75)


def test_a_draft_is_discarded_after_a_question_and_brought_back(owner: Client, draft: PlanRevision) -> None:
    page = page_of(owner.get(reverse("plan:discard", args=[draft.pk])))
    assert "Discard it" in page
    assert reverse("plan:discard", args=[draft.pk]) in page_of(owner.get(reverse("plan:workspace", args=[draft.pk])))
    assert owner.post(reverse("plan:discard", args=[draft.pk])).status_code == 302
    page = page_of(owner.get(reverse("plan:plan")))
    assert "Discarded drafts (1)" in page
    page = page_of(owner.get(reverse("plan:workspace", args=[draft.pk])))
    assert "was discarded on" in page
    assert reverse("plan:approval", args=[draft.pk]) not in page
    owner.post(reverse("plan:restore", args=[draft.pk]))
    assert "Discarded drafts" not in page_of(owner.get(reverse("plan:plan")))


def test_a_cheese_is_added_from_answers_and_a_refusal_keeps_them(owner: Client, draft: PlanRevision) -> None:
    add = reverse("plan:answers_add", args=[draft.pk])
    assert "Add a cheese to Revision" in page_of(owner.get(add))
    sent = {
        "product_name": "High Blue", "product_code": "BS", "jurisdiction": "EU", "species": "cow", "treatment": "raw",
        "family": "blue",
    }  # fmt: skip
    unsaid = owner.post(add, sent | {"product_code": "HB"})
    assert unsaid.status_code == 422
    assert "Answer this one too. It decides: how likely Brucella" in page_of(unsaid)
    sent["herd_free"] = "yes"
    refused = owner.post(add, sent)
    assert refused.status_code == 409
    assert 'value="High Blue"' in page_of(refused)
    page = page_of(owner.post(add, sent | {"product_code": "HB"}, follow=True))
    assert "High Blue (HB) added: " in page
    assert "What you had edited stays as it was." in page

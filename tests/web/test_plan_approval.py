"""From a draft to a plan in force: what blocks, what changes, the signatures, and the reviews that follow."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from haccp.checks.models import DueCheck, PlanningMark
from haccp.lots.queries import revision_ids_of
from haccp.plan import actions
from haccp.plan.document.parts import TeamMember
from haccp.plan.models import FlowConfirmation, PlanReview, PlanRevision, ReviewOccasion
from haccp.plan.queries import revision_in_force
from haccp.plan.rows import read_plan
from haccp.premises.actions import premises_open
from tests.dairy import PASSWORD, Dairy
from tests.plan.sound_plan import changed, sound_plan, without
from tests.web.conftest import NOW, hidden, page_of
from tests.web.pages import reader, signed_in


@pytest.fixture
def owner(dairy: Dairy) -> Client:
    return signed_in(dairy.owner)


@pytest.fixture
def draft(dairy: Dairy) -> PlanRevision:
    return actions.revision_copy(scope=dairy.owner, change_summary="Somebody joined.", at=NOW)


def approve(client: Client, draft: PlanRevision, **typed: str) -> tuple[int, str]:
    page = client.get(reverse("plan:approval", args=[draft.pk])).content.decode()
    sent = {"seen_sha256": hidden(page, "seen_sha256"), "effective_from": "2026-03-04T08:20", "password": PASSWORD}
    answer = client.post(reverse("plan:approve", args=[draft.pk]), sent | typed)
    return answer.status_code, page_of(answer)


def test_a_draft_is_approved_with_a_password_and_checks_are_planned_anew(
    dairy: Dairy, owner: Client, draft: PlanRevision
) -> None:
    assert PlanningMark.objects.get(premises=dairy.owner.premises).planned_until > NOW
    status, _ = approve(owner, draft)
    assert status == 302
    assert revision_in_force(dairy.owner.premises, NOW + timedelta(minutes=1)) == draft
    # In the same transaction: what the earlier revision had planned past the start is taken back.
    assert PlanningMark.objects.get(premises=dairy.owner.premises).planned_until == NOW
    assert not DueCheck.objects.filter(lot=None, settled_at=None, due_at__gte=NOW).exists()


def test_a_wrong_password_keeps_the_start_that_was_typed(dairy: Dairy, owner: Client, draft: PlanRevision) -> None:
    status, page = approve(owner, draft, password="not it", effective_from="2026-03-05T06:00")
    assert status == 422
    assert 'value="2026-03-05T06:00"' in page
    assert not PlanRevision.objects.get(pk=draft.pk).is_approved


def test_a_plan_that_was_changed_meanwhile_is_read_again_first(
    dairy: Dairy, owner: Client, draft: PlanRevision
) -> None:
    page = owner.get(reverse("plan:approval", args=[draft.pk])).content.decode()
    actions.part_add(scope=dairy.owner, revision=draft, part=TeamMember(name="Late Lara"))
    sent = {
        "seen_sha256": hidden(page, "seen_sha256"), "effective_from": "2026-03-04T08:20", "password": PASSWORD,
    }  # fmt: skip
    answer = owner.post(reverse("plan:approve", args=[draft.pk]), sent)
    assert answer.status_code == 409
    assert "was changed since you read it" in page_of(answer)
    # The page now shows the change, and what it would sign is what it shows.
    again = sent | {"seen_sha256": hidden(answer.content.decode(), "seen_sha256")}
    assert owner.post(reverse("plan:approve", args=[draft.pk]), again).status_code == 302


def test_what_blocks_is_shown_and_nothing_can_be_signed(dairy: Dairy, owner: Client) -> None:
    broken = without(changed(sound_plan(), "ccp", corrective_action=""), "judgement")
    draft = actions.plan_take_in(scope=dairy.owner, document=broken, at=NOW)
    page = page_of(owner.get(reverse("plan:approval", args=[draft.pk])))
    assert "ccp.no_corrective_action" in page
    assert "Approve and sign" not in page
    sent = {"seen_sha256": "", "effective_from": "2026-03-04T08:20", "password": PASSWORD}
    assert owner.post(reverse("plan:approve", args=[draft.pk]), sent).status_code == 422


def test_the_approval_tells_what_changes_and_for_which_batches(
    dairy: Dairy, owner: Client, draft: PlanRevision
) -> None:
    make = dairy.start_make(at=NOW)
    limit = next(one for one in read_plan(draft).limits if one.quantity == "ph")
    fields = {name: getattr(limit, name) for name in limit.__dataclass_fields__}
    tighter = type(limit)(**{**fields, "high": 5.2, "statement": "pH at most 5.20 within 6 h"})
    actions.part_change(scope=dairy.owner, revision=draft, part=tighter)
    page = page_of(owner.get(reverse("plan:approval", args=[draft.pk])))
    assert "highest value: pH 5.40 → pH 5.20" in page
    assert make.lot.code in page
    assert "stay under the revision that they began with" in page
    compared = page_of(owner.get(reverse("plan:differences", args=[draft.pk])))
    assert "highest value: pH 5.40 → pH 5.20" in compared


def test_only_the_owner_signs_and_everybody_sees(dairy: Dairy, draft: PlanRevision) -> None:
    consultant = reader(dairy)
    assert "Only the owner" in page_of(consultant.get(reverse("plan:approval", args=[draft.pk])))
    assert consultant.post(reverse("plan:approve", args=[draft.pk]), {}).status_code == 403


def test_the_flow_is_confirmed_with_a_signature(dairy: Dairy, owner: Client, draft: PlanRevision) -> None:
    address = reverse("plan:section", args=[draft.pk, "confirmation"])
    page = owner.get(address).content.decode()
    sent = {
        "seen_sha256": hidden(page, "seen_sha256"), "confirmed_on": "2026-03-09", "note": "As drawn.",
        "password": PASSWORD,
    }  # fmt: skip
    refused = owner.post(reverse("plan:confirm", args=[draft.pk]), sent)
    assert refused.status_code == 422
    assert "has not come yet" in page_of(refused)
    assert "As drawn." in page_of(refused)
    assert (
        owner.post(reverse("plan:confirm", args=[draft.pk]), sent | {"confirmed_on": "2026-03-03"}).status_code == 302
    )
    assert FlowConfirmation.objects.get().note == "As drawn."
    assert "of the flow as it is drawn here" in page_of(owner.get(address))


def test_a_review_that_is_due_stands_on_the_first_page_until_it_is_signed(dairy: Dairy) -> None:
    later = datetime(2027, 3, 10, 9, 0, tzinfo=UTC)
    with time_machine.travel(later, tick=False):
        owner = signed_in(dairy.owner)
        assert "A review of the plan has been due since 3 Mar 2027" in page_of(owner.get(reverse("checks:today")))
        address, review_id = reverse("plan:review_record"), str(uuid4())
        refused = owner.post(address, {"outcome": "Read it all.", "password": "not it"})
        assert refused.status_code == 422
        assert "Read it all." in page_of(refused)
        assert (
            owner.post(address, {"review_id": review_id, "outcome": "Read it all.", "password": PASSWORD}).status_code
            == 302
        )
        assert PlanReview.objects.get().outcome == "Read it all."
        assert "review of the plan" not in page_of(owner.get(reverse("checks:today")))
        assert "Read it all." in page_of(signed_in(dairy.helper).get(reverse("plan:review")))
        assert signed_in(dairy.helper).post(address, {}).status_code == 403


def test_something_that_happened_makes_a_review_due(dairy: Dairy) -> None:
    with time_machine.travel(NOW + timedelta(days=2), tick=False):
        owner = signed_in(dairy.owner)
        sent = {"kind": "new_equipment", "description": "A new vat.", "occurred_at": "2026-03-06T07:00"}
        assert owner.post(reverse("plan:occasion"), sent).status_code == 302
        assert ReviewOccasion.objects.get().description == "A new vat."
        assert "new equipment or process: A new vat." in page_of(owner.get(reverse("checks:today"))).replace(
            "New", "new"
        )


def test_a_dairy_without_a_plan_is_led_to_one(dairy: Dairy) -> None:
    scope = premises_open(
        producer_name="New", name="New Dairy", time_zone="Europe/Rome", jurisdiction="EU", owner_name="Nia",
        owner_email="nia@new.example", owner_password=PASSWORD,
    )  # fmt: skip
    client = signed_in(scope)
    today = page_of(client.get(reverse("checks:today")))
    assert "No plan is in force" in today
    assert "Nothing is due now" not in today
    assert "Start from your answers" in page_of(client.get(reverse("plan:plan")))
    assert client.post(reverse("plan:copy"), {"change_summary": "Ours."}).status_code == 302


def test_a_batch_is_moved_to_the_revision_in_force_only_with_a_reason(
    dairy: Dairy, owner: Client, draft: PlanRevision
) -> None:
    make = dairy.start_make(at=NOW)
    assert approve(owner, draft)[0] == 302
    with time_machine.travel(NOW + timedelta(hours=1), tick=False):
        owner = signed_in(dairy.owner)
        address = reverse("checks:revision_move", args=[make.lot_id])
        assert address in page_of(owner.get(reverse("plan:batches", args=[draft.pk])))
        refused = owner.post(address, {"revision": str(draft.pk), "reason": ""})
        assert refused.status_code == 422
        assert "Say why" in page_of(refused)
        assert revision_ids_of([make.lot]) == {make.lot_id: dairy.revision.pk}
        assert owner.post(address, {"revision": str(draft.pk), "reason": "The new limit is wanted."}).status_code == 302
        assert revision_ids_of([make.lot]) == {make.lot_id: draft.pk}
        assert signed_in(dairy.maker).post(address, {}).status_code == 403

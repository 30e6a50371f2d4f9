"""A draft built, edited, confirmed, approved, copied and exchanged, through the actions that people use."""

import dataclasses
import json
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from haccp.ledger.canonical import sha256_of
from haccp.ledger.models import Entry, Log
from haccp.ledger.verification import verify_log
from haccp.plan import actions as plan
from haccp.plan.actions.revisions import revision_bare
from haccp.plan.document import PlaceNamed, PlanDocument
from haccp.plan.document.file import as_json, write_file
from haccp.plan.document.parts import Hazard, Link, Material, OpenJudgement, Step, TeamMember
from haccp.plan.models import FlowConfirmation, PlanRevision, ProcessStep, Product
from haccp.plan.queries import differences_between, findings_of, review_due_of
from haccp.plan.rows import MODELS, read_plan
from haccp.premises import actions as premises
from haccp.premises.errors import ActionError, Conflict, NotAllowed
from haccp.premises.scope import Scope
from tests.dairy import PASSWORD
from tests.plan.sound_plan import changed, k, sound_plan, without

pytestmark = pytest.mark.django_db
AT = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
SOUND = sound_plan()


def open_premises(tag: str = "one") -> Scope:
    owner = premises.premises_open(
        producer_name=tag, name=f"Dairy {tag}", time_zone="Europe/Dublin", jurisdiction="EU", owner_name="Orla Owner",
        owner_email=f"owner@{tag}.example", owner_password=PASSWORD, at=AT,
    )  # fmt: skip
    premises.instrument_add(
        scope=owner, name="Recorder", kind="recorder", expanded_uncertainty=0.2, calibrated_on=date(2026, 1, 1),
        calibration_valid_until=date(2027, 1, 1),
    )  # fmt: skip
    return owner


@pytest.fixture
def owner() -> Scope:
    return open_premises()


def person(owner: Scope, role: str) -> Scope:
    return Scope(
        premises.person_add(
            scope=owner, name=role.title(), email=f"{role}@one.example", password=PASSWORD, role=role, at=AT
        )
    )


def take_in(owner: Scope, document: PlanDocument = SOUND) -> PlanRevision:
    return plan.plan_import(scope=owner, content=write_file(document), at=AT)


def approve(owner: Scope, revision: PlanRevision, **more: object) -> PlanRevision:
    arguments: dict[str, object] = {"effective_from": AT, "password": PASSWORD, "at": AT} | more
    return plan.revision_approve(scope=owner, revision=revision, **arguments)  # type: ignore[arg-type]


# --- Files ---


def test_export_of_an_import_is_the_same_file(owner: Scope) -> None:
    revision = take_in(owner)

    assert read_plan(revision) == SOUND
    assert write_file(read_plan(revision)) == write_file(SOUND)


def test_a_plan_goes_from_one_dairy_to_another_and_back(owner: Scope) -> None:
    content = write_file(read_plan(take_in(owner)))
    other = open_premises("two")

    assert write_file(read_plan(plan.plan_import(scope=other, content=content, at=AT))) == content


@pytest.mark.parametrize(
    ("document", "sentence"),
    [
        (changed(SOUND, "rework", kind="flow"), "Make → Ripen; mark the link that leads back as rework"),
        (changed(SOUND, "limit", unit="kg"), "“kg” is not a unit of temperature"),
        (changed(SOUND, "limit", low=6300.0, target_low=None), "6300 °C is not a plausible temperature"),
        (changed(SOUND, "rework", end=SOUND.by_key[k("rework")].start), "A way leads from one step to another"),
        (
            changed(SOUND, "m water", check=k("nothing")),
            "Measure “In order.”: The check is not in this plan",
        ),
        (
            SOUND.with_part(
                dataclasses.replace(
                    SOUND.limits[0], key=k("low"), comparator="at_least", evaluator="reading", parameters={}
                )
            ).with_part(
                dataclasses.replace(
                    SOUND.limits[0], key=k("high"), comparator="at_most", evaluator="reading", parameters={},
                    low=None, high=60.0, target_low=None,
                )
            ),
            "cannot both be met",
        ),
    ],
)  # fmt: skip
def test_a_defective_file_leaves_nothing_behind(owner: Scope, document: PlanDocument, sentence: str) -> None:
    with pytest.raises(ActionError, match=sentence) as refused:
        take_in(owner, document)

    assert set(refused.value.fields) == {"file"}
    assert not PlanRevision.objects.exists()
    assert not Product.objects.exists()
    assert not any(model._default_manager.exists() for model in MODELS.values())


def test_a_code_that_stands_for_another_cheese_here_is_a_conflict(owner: Scope) -> None:
    plan.product_add(scope=owner, name="Blue", code="BS", species="ewe", treatment="raw")

    with pytest.raises(Conflict, match="The code BS stands for Blue"):
        take_in(owner)


def test_a_consultant_drafts_but_neither_adds_places_nor_approves(owner: Scope) -> None:
    consultant = person(owner, "consultant")
    elsewhere = dataclasses.replace(
        changed(SOUND, "check", subject="place", place="Vat"), places=(PlaceNamed(name="Vat", kind="vat"),)
    )
    with pytest.raises(NotAllowed):
        take_in(consultant, elsewhere)
    revision = take_in(owner, elsewhere)

    plan.part_add(scope=consultant, revision=revision, part=TeamMember(name="Con", competence="Thirty years."))

    with pytest.raises(NotAllowed):
        approve(consultant, revision)
    for role in ("maker", "helper", "reviewer"):
        with pytest.raises(NotAllowed):
            plan.part_add(scope=person(owner, role), revision=revision, part=TeamMember(name="No"))


def test_a_stranger_reaches_no_plan(owner: Scope) -> None:
    revision = take_in(owner)
    stranger = open_premises("two")

    for act in (
        lambda: plan.part_add(scope=stranger, revision=revision, part=TeamMember(name="X")),
        lambda: plan.part_remove(scope=stranger, revision=revision, kind="steps", key=k("milk")),
        lambda: plan.revision_copy(scope=stranger, change_summary="", at=AT, source=revision),
        lambda: approve(stranger, revision),
        lambda: plan.flow_confirm(scope=stranger, revision=revision, confirmed_on=AT.date(), password=PASSWORD, at=AT),
    ):
        with pytest.raises(ActionError, match="no such plan"):
            act()


# --- Parts ---


def test_every_kind_of_part_is_added_changed_and_removed(owner: Scope) -> None:
    revision = revision_bare(scope=owner, scope_statement="All.", change_summary="First.", at=AT)
    plan.product_add(scope=owner, **dataclasses.asdict(SOUND.products[0]))
    parts = [part for _, part in SOUND.parts()]

    plan.parts_add(scope=owner, revision=revision, parts=parts)
    assert {part.key: part for _, part in read_plan(revision).parts()} == {part.key: part for part in parts}

    new = changed(changed(SOUND, "limit", low=65.0, target_low=66.0), "milk", name="Milk tank")
    for name in ("limit", "milk"):
        plan.part_change(scope=owner, revision=revision, part=new.by_key[k(name)])
    assert read_plan(revision).by_key == new.by_key

    removed = plan.part_remove(scope=owner, revision=revision, kind="verifications", key=k("v plan"))
    assert [part.key for part in removed] == [k("v plan")]
    assert k("v plan") not in read_plan(revision).by_key


def test_what_belongs_to_a_part_goes_with_it_and_what_only_refers_to_it_holds_it(owner: Scope) -> None:
    revision = take_in(owner)

    with pytest.raises(ActionError, match=r"“Heat” is still used by .*control point “CCP 1 Pasteurisation”"):
        plan.part_remove(scope=owner, revision=revision, kind="steps", key=k("heat"))
    with pytest.raises(ActionError, match="still used by control measure “Heat”"):
        plan.part_remove(scope=owner, revision=revision, kind="control_points", key=k("ccp"))
    plan.part_change(
        scope=owner, revision=revision, part=dataclasses.replace(SOUND.control_measures[0], control_point=None)
    )
    removed = plan.part_remove(scope=owner, revision=revision, kind="control_points", key=k("ccp"))

    gone = {part.key for part in removed}
    assert gone == {k(name) for name in ("ccp", "limit", "check", "m recorder", "validation", "v ccp", "mark")}
    assert not gone & set(read_plan(revision).by_key)


@pytest.mark.parametrize(
    ("part", "field", "sentence"),
    [
        (Step(position=1, name="Twice"), "position", "already a step with this position"),
        (Step(position=7, name="x" * 81), "name", "shorten it to 80"),
        (Step(position=7, name=""), "name", "Give the name"),
        (Link(start=k("milk"), end=str(uuid4())), "end", "not in this plan"),
        (Material(step=k("milk"), direction="up", kind="milk", name="Milk"), "direction", "is no direction"),
        (dataclasses.replace(SOUND.limits[0], key=str(uuid4()), unit="kg"), "", "“kg” is not a unit of temperature"),
        (Hazard(step=k("milk"), kind="biological", name="X", severity=11), "severity", "between 1 and 10"),
    ],
)
def test_a_part_that_could_not_be_kept_is_refused_beside_its_field(
    owner: Scope, part: Step, field: str, sentence: str
) -> None:
    revision = take_in(owner)

    with pytest.raises(ActionError, match=sentence) as refused:
        plan.part_add(scope=owner, revision=revision, part=part)

    assert not field or field in refused.value.fields
    assert read_plan(revision) == SOUND


def test_a_limit_cannot_be_changed_into_another_dimension_under_its_measure(owner: Scope) -> None:
    revision = take_in(owner)
    acidity = dataclasses.replace(
        SOUND.limits[0], quantity="ph", evaluator="reading", comparator="at_most", low=None, high=5.3, target_low=None,
        parameters={}, unit="pH",
    )  # fmt: skip

    with pytest.raises(ActionError, match=r"It measures temperature, but .* limits pH"):
        plan.part_change(scope=owner, revision=revision, part=acidity)


def test_the_same_part_sent_twice_is_a_conflict(owner: Scope) -> None:
    revision = take_in(owner)

    with pytest.raises(Conflict, match="added already"):
        plan.part_add(scope=owner, revision=revision, part=SOUND.steps[0])


# --- Approval ---


def test_approval_signs_exactly_the_exported_plan(owner: Scope) -> None:
    revision = approve(owner, take_in(owner))

    assert revision.approval is not None
    signed = json.loads(revision.approval.content)
    assert signed["plan"] == as_json(SOUND)
    assert signed["revision"] == 1
    assert {finding["rule"] for finding in signed["findings"]} == {"flow.unconfirmed"}
    assert verify_log(Log.objects.get(pk=owner.log_id)).holds


@pytest.mark.parametrize(
    ("document", "sentence"),
    [
        (changed(SOUND, "judgement", answer=""), "Still open: Which instrument?"),
        (changed(SOUND, "limit", low=62.0), "laxer than the law for Brook Square: 63.0 °C for 30 min"),
        (without(SOUND, "limit", "mark"), "has no critical limit. Give it a critical limit."),
    ],
)
def test_what_blocks_is_named_and_nothing_is_signed(owner: Scope, document: PlanDocument, sentence: str) -> None:
    if not document.limits:
        document = changed(document, "m recorder", limits=())
        document = changed(document, "validation", limit=None)
    revision = take_in(owner, document)

    with pytest.raises(ActionError, match=sentence):
        approve(owner, revision)

    assert not PlanRevision.objects.approved().exists()


def test_an_approved_plan_refuses_every_edit_in_words(owner: Scope) -> None:
    revision = approve(owner, take_in(owner))

    for act in (
        lambda: plan.part_add(scope=owner, revision=revision, part=TeamMember(name="Late")),
        lambda: plan.part_change(scope=owner, revision=revision, part=SOUND.steps[0]),
        lambda: plan.part_remove(scope=owner, revision=revision, kind="steps", key=k("milk")),
        lambda: plan.step_add(scope=owner, revision=revision, name="Late"),
    ):
        with pytest.raises(ActionError, match="approved and frozen; draft a new revision"):
            act()
    with pytest.raises(Conflict, match="approved already"):
        approve(owner, revision)


@pytest.mark.parametrize("kind", MODELS)
def test_the_database_itself_refuses_changes_to_approved_parts(owner: Scope, kind: str) -> None:
    revision = approve(owner, take_in(owner))
    table = MODELS[kind]._meta.db_table
    row = MODELS[kind]._default_manager.filter(revision=revision).first()
    assert row is not None

    for statement in (
        f'UPDATE "{table}" SET origin = NULL',
        f'DELETE FROM "{table}"',
    ):
        with pytest.raises(IntegrityError, match="frozen"), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement)
    row.pk = uuid4()
    with pytest.raises(IntegrityError, match="frozen"), transaction.atomic():
        row.save(force_insert=True)


def test_a_plan_that_changed_since_it_was_read_is_not_signed(owner: Scope) -> None:
    revision = take_in(owner)
    content, _ = plan.approval_content(revision, AT, AT)
    seen = sha256_of(content)
    plan.part_add(scope=owner, revision=revision, part=TeamMember(name="Bea", competence="Course."))

    with pytest.raises(Conflict, match="changed since you read it"):
        approve(owner, revision, seen_sha256=seen)
    content, _ = plan.approval_content(revision, AT, AT)
    assert approve(owner, revision, seen_sha256=sha256_of(content)).is_approved


# --- Copies and differences ---


def test_a_copy_is_the_same_plan_with_rows_of_its_own(owner: Scope) -> None:
    first = approve(owner, take_in(owner))
    draft = plan.revision_copy(scope=owner, change_summary="Warmer.", at=AT)

    assert draft.number == 2
    assert not draft.is_approved
    assert dataclasses.replace(read_plan(draft), change_summary=SOUND.change_summary) == SOUND
    assert not set(ProcessStep.objects.filter(revision=draft).values_list("pk", flat=True)) & set(
        ProcessStep.objects.filter(revision=first).values_list("pk", flat=True)
    )
    assert differences_between(first, draft) == []

    warmer = dataclasses.replace(SOUND.limits[0], low=65.0, target_low=66.0)
    plan.part_change(scope=owner, revision=draft, part=warmer)
    (found,) = differences_between(first, draft)
    assert "lowest value: 63.0 °C → 65.0 °C" in found.sentence
    assert read_plan(first) == SOUND


def test_there_is_nothing_to_copy_before_the_first_approval(owner: Scope) -> None:
    take_in(owner)

    with pytest.raises(ActionError, match="No revision is in force"):
        plan.revision_copy(scope=owner, change_summary="", at=AT)


# --- Confirmation on site, reviews ---


def test_a_flow_is_confirmed_until_it_changes(owner: Scope) -> None:
    revision = take_in(owner)

    def unconfirmed() -> bool:
        return "flow.unconfirmed" in {finding.rule for finding in findings_of(revision, AT)}

    assert unconfirmed()
    confirmation = plan.flow_confirm(
        scope=owner, revision=revision, confirmed_on=AT.date(), password=PASSWORD, at=AT, note="Walked with Milo."
    )
    assert not unconfirmed()
    assert json.loads(confirmation.signature.content)["flow"]["steps"][0]["name"] == "Milk"
    plan.part_change(scope=owner, revision=revision, part=dataclasses.replace(SOUND.steps[0], name="Milk tank"))
    assert unconfirmed()
    with pytest.raises(IntegrityError), transaction.atomic():
        FlowConfirmation.objects.update(note="never mind")


def test_a_copy_of_a_confirmed_flow_needs_no_second_walk(owner: Scope) -> None:
    revision = take_in(owner)
    plan.flow_confirm(scope=owner, revision=revision, confirmed_on=AT.date(), password=PASSWORD, at=AT)
    approve(owner, revision)
    draft = plan.revision_copy(scope=owner, change_summary="Same flow.", at=AT)

    assert "flow.unconfirmed" not in {finding.rule for finding in findings_of(draft, AT)}


def test_a_day_to_come_and_a_wrong_password_confirm_nothing(owner: Scope) -> None:
    revision = take_in(owner)

    with pytest.raises(ActionError, match="has not come yet"):
        plan.flow_confirm(
            scope=owner, revision=revision, confirmed_on=AT.date() + timedelta(days=1), password=PASSWORD, at=AT
        )
    with pytest.raises(ActionError, match="not your password"):
        plan.flow_confirm(scope=owner, revision=revision, confirmed_on=AT.date(), password="no", at=AT)
    assert not FlowConfirmation.objects.exists()


def test_a_review_falls_due_by_the_year_and_by_what_happens_and_is_settled_by_its_signature(owner: Scope) -> None:
    assert review_due_of(owner.premises, AT) is None
    revision = approve(owner, take_in(owner))
    due = review_due_of(owner.premises, AT)
    assert due is not None
    assert due.on == date(2027, 3, 1)

    june, july = datetime(2026, 6, 1, 12, tzinfo=UTC), datetime(2026, 7, 1, 12, tzinfo=UTC)
    plan.review_occasion_record(
        scope=owner, kind="new_equipment", description="A second vat.", occurred_at=june, at=june
    )
    due = review_due_of(owner.premises, july)
    assert due is not None
    assert (due.on, due.reasons) == (date(2026, 6, 1), ("new equipment or process: A second vat.",))
    assert "review.overdue" in {finding.rule for finding in findings_of(revision, july)}

    plan.review_record(scope=owner, outcome="Looked at all.", change_needed=False, password=PASSWORD, at=july)
    due = review_due_of(owner.premises, july)
    assert due is not None
    assert due.on == date(2027, 7, 1)
    assert verify_log(Log.objects.get(pk=owner.log_id)).holds


# --- Cost ---


def test_a_plan_is_read_and_examined_in_a_constant_number_of_queries(owner: Scope) -> None:
    small = take_in(owner)

    def cost(revision: PlanRevision) -> int:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            findings_of(PlanRevision.objects.select_related("premises").get(pk=revision.pk), AT)
        return len(queries)

    before = cost(small)
    for n in range(10, 40):
        step = Step(position=n, name=f"Step {n}")
        hazard = Hazard(step=step.key, kind="physical", name=f"Hazard {n}", justification="None.")
        judgement = OpenJudgement(question=f"Question {n}?")
        plan.parts_add(scope=owner, revision=small, parts=[step, hazard, judgement])

    assert cost(small) == before
    # 19 kinds of part, 5 tables of links, products, places, instruments, confirmations, and the revision in force.
    assert before <= 32


def test_a_draft_is_put_away_and_brought_back_as_it_was(owner: Scope) -> None:
    draft = take_in(owner)
    plan.flow_confirm(scope=owner, revision=draft, confirmed_on=AT.date(), password=PASSWORD, at=AT)
    before = read_plan(draft)
    plan.revision_discard(scope=owner, revision=draft, at=AT)
    plan.revision_discard(scope=owner, revision=draft, at=AT)  # tapped twice
    kinds = list(Entry.objects.filter(log_id=owner.log_id, subject=f"plan:{draft.pk}").values_list("kind", flat=True))
    assert kinds == ["plan.draft_discarded"]
    draft.refresh_from_db()
    for refused in (
        lambda: plan.part_add(scope=owner, revision=draft, part=TeamMember(name="Zoe")),
        lambda: approve(owner, draft),
    ):
        with pytest.raises(ActionError, match="discarded; bring it back"):
            refused()
    # Its number is not used again.
    assert plan.revision_draft(scope=owner, scope_statement="", change_summary="", at=AT).number == draft.number + 1
    plan.revision_restore(scope=owner, revision=draft, at=AT)
    assert read_plan(draft) == before
    approved = approve(owner, PlanRevision.objects.get(pk=draft.pk))
    with pytest.raises(ActionError, match="is approved and stays"):
        plan.revision_discard(scope=owner, revision=approved, at=AT)
    for stranger in (open_premises("two"), person(owner, "maker")):
        with pytest.raises(ActionError):
            plan.revision_discard(scope=stranger, revision=draft, at=AT)
    assert verify_log(Log.objects.get(pk=owner.log_id)).holds

"""A round walked from one check to the next; photographs, scanned codes; early, late and by somebody else."""

import io
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from haccp.checks import actions as checks
from haccp.checks import codes
from haccp.checks.models import DueCheck, PhotoFile, Record
from haccp.checks.queries import due_to_do, last_record, last_records, next_in_round, usual_instrument
from haccp.checks.timing import timing_of
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.plan import actions as plan
from haccp.premises import actions as premises
from haccp.premises.errors import ActionError
from tests.dairy import OPENED_AT, PASSWORD, Dairy, open_dairy

pytestmark = pytest.mark.django_db
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
CAMERA = 0x010F  # Exif 2.3: the tag of the maker of the camera


def picture(colour: str = "white", size: tuple[int, int] = (3000, 1500)) -> bytes:
    made = io.BytesIO()
    exif = Image.Exif()
    exif[CAMERA] = "Some camera"
    exif[0x0112] = 6  # Exif 2.3: to be turned by a quarter
    Image.new("RGB", size, colour).save(made, "JPEG", exif=exif)
    return made.getvalue()


def with_looks(dairy: Dairy) -> Dairy:
    """A check of the room with a scanned code, a photograph, four corners under one limit, and words."""
    draft = plan.revision_copy(scope=dairy.owner, change_summary="A closer look.", at=OPENED_AT)
    limit = plan.LimitDraft(
        key="air", statement="At most 14 °C", quantity="temperature", evaluator="reading", comparator="at_most",
        high=14.0, unit="°C",
    )  # fmt: skip
    corners = [
        plan.MeasureDraft(f"Corner {n}", "number", "temperature", "°C", limits=["air"], required=n == 1)
        for n in range(1, 5)
    ]
    plan.control_point_add(
        scope=dairy.owner,
        revision=draft,
        draft=plan.ControlPointDraft(
            code="PRP 3",
            name="Room walk",
            kind="prerequisite",
            programme="rooms",
            corrective_action="Close the door.",
            limits=[limit],
            checks=[
                plan.CheckDraft(
                    name="Room walk",
                    subject="place",
                    place=dairy.room,
                    cadence={
                        "kind": "clock", "rrule": "FREQ=DAILY;BYHOUR=8;BYMINUTE=30;BYSECOND=0", "from": "2026-01-01"
                    },
                    measures=[
                        plan.MeasureDraft("Code", "scan"),
                        *corners,
                        plan.MeasureDraft("Shelf", "photo"),
                        plan.MeasureDraft("Anything new", "text", required=False),
                    ],
                )
            ],
        ),
    )  # fmt: skip
    dairy.revision = plan.revision_approve(
        scope=dairy.owner, revision=draft, effective_from=OPENED_AT + HOUR, password=PASSWORD, at=OPENED_AT + HOUR
    )
    return dairy


def test_a_refused_form_keeps_its_photograph_and_a_code_of_elsewhere_is_named() -> None:
    dairy = with_looks(open_dairy())
    check = dairy.check("Room walk")
    measures = {one.label: one for one in check.measures.all()}
    browser = Client()
    browser.force_login(dairy.maker.user)
    address = reverse("checks:extra", args=[check.id])
    form = {
        "record_id": str(uuid4()),
        f"measure-{measures['Code'].id}": codes.code_of_place(dairy.vat),
        f"measure-{measures['Corner 1'].id}": "11,5",
        f"unit-{measures['Corner 1'].id}": "°C",
        **{f"unit-{measures[f'Corner {n}'].id}": "°C" for n in (2, 3, 4)},
        f"measure-{measures['Corner 3'].id}": "15",
        f"measure-{measures['Shelf'].id}": SimpleUploadedFile("shelf.jpg", picture(), "image/jpeg"),
        "observed_at": "2026-03-01T08:00",
        "note": "",
    }
    answer = browser.post(address, form)
    assert answer.status_code == 422
    assert "That is the code of Vat 1; this check is about Room 1." in answer.content.decode()
    photo = PhotoFile.objects.get()
    assert str(photo.id) in answer.content.decode()
    # Sent again without the file: the one that is kept counts. Small and large letters and dashes do not.
    again = form | {
        f"measure-{measures['Shelf'].id}": "",
        f"photo-{measures['Shelf'].id}": str(photo.id),
        f"measure-{measures['Code'].id}": codes.code_of_place(dairy.room).lower().replace("-", " "),
    }
    answer = browser.post(address, again)
    assert answer.status_code == 302, answer.content.decode()
    record = Record.objects.get()
    shelf = record.readings.get(measure=measures["Shelf"])
    assert shelf.photo == photo
    assert {row.ruling for row in record.rulings.all()} == {"breached"}  # the third corner
    # Sent twice: one record.
    assert browser.post(address, again).status_code == 302
    assert Record.objects.count() == 1

    shown = browser.get(reverse("checks:photo", args=[photo.id]))
    with Image.open(io.BytesIO(shown.content)) as kept:
        assert kept.size == (1000, 2000)  # upright, and no longer than needed
        assert not dict(kept.getexif())  # and nothing of the camera
    page = browser.get(reverse("checks:record", args=[record.id])).content.decode()
    assert reverse("checks:photo", args=[photo.id]) in page
    assert codes.code_of_place(dairy.room) in browser.get(reverse("checks:codes")).content.decode()
    for bad in (b"no picture", b"", b"\x89PNG\r\n\x1a\n" + b"0" * 50):
        with pytest.raises(ActionError, match="no photograph that can be read"):
            checks.photo_store(scope=dairy.maker, photo_id=uuid4(), data=bad)
    report = verify_log(Log.objects.get(pk=dairy.owner.log_id))
    assert report.holds, report.problem


def test_what_is_asked_for_is_a_photograph_and_the_right_code() -> None:
    dairy = with_looks(open_dairy())
    code = codes.code_of_place(dairy.room)
    for values, sentence in (
        ((code, "11", "", "", "", str(uuid4())), "not here"),
        ((code, "11", "", "", "", ""), "Enter Shelf"),
        (("P-ZZZZ-ZZZZ", "11", "", "", "", ""), "not known here"),
    ):
        with pytest.raises(ActionError) as refused:
            dairy.save("Room walk", *values, at=OPENED_AT + 2 * HOUR)
        assert sentence in " ".join(refused.value.fields.values())


def test_the_walk_goes_on_from_where_one_stands_and_wraps() -> None:
    dairy = open_dairy()
    far = premises.place_add(scope=dairy.owner, name="Cold store", kind="cold_store", walking_order=3)
    checks.sweep(now=OPENED_AT)
    morning = OPENED_AT.replace(hour=16, minute=30)  # vat (17:00) may be done; the room was due at 8 and is missed
    DueCheck.objects.filter(check_due__name="Room 1 temperature").update(opens_at=OPENED_AT)

    def following(place_id: object) -> str:
        found = next_in_round(dairy.owner.premises, place_id=place_id, now=morning)  # type: ignore[arg-type]
        assert found is not None
        return found.check_due.name

    assert following(dairy.vat.id) == "Vat 1 cleaned"
    assert following(dairy.room.id) == "Room 1 temperature"
    assert following(far.id) == "Vat 1 cleaned"  # past the end: what was passed by
    assert following(None) == "Vat 1 cleaned"


def test_early_late_and_by_somebody_else_is_said_and_defaults_outlive_a_revision() -> None:
    dairy = with_looks(open_dairy())
    checks.sweep(now=OPENED_AT + HOUR)
    room = dairy.check("Room 1 temperature")
    checks.keeper_set(
        scope=dairy.owner,
        keeper_id=uuid4(),
        check_id=room.id,
        membership_id=dairy.helper.membership.id,
        now=OPENED_AT + HOUR,
    )
    due = DueCheck.objects.filter(check_due=room).earliest("due_at")
    saved = dairy.save(
        "Room 1 temperature", "11", at=due.due_at + timedelta(minutes=25), due_id=due.id,
        instrument_id=dairy.thermometer.id,
    )  # fmt: skip
    timing = timing_of(saved.record)
    assert (timing.early, timing.late, timing.instead_of) == ("", "25 min", "Hanna Helper")
    second = DueCheck.objects.filter(check_due=room, settled_at__isnull=True).earliest("due_at")
    early = dairy.save(
        "Room 1 temperature", "11", at=second.opens_at - timedelta(minutes=30), due_id=second.id,
        instrument_id=dairy.thermometer.id, scope=dairy.helper,
    )  # fmt: skip
    timing = timing_of(early.record)
    assert (timing.early, timing.late, timing.instead_of) == ("1 h 30 min", "", "")
    # Whose it was then, not whose it became.
    checks.keeper_set(
        scope=dairy.owner,
        keeper_id=uuid4(),
        check_id=room.id,
        membership_id=dairy.owner.membership.id,
        now=second.due_at + DAY,
    )
    assert timing_of(early.record).instead_of == ""

    draft = plan.revision_copy(scope=dairy.owner, change_summary="Again.", at=second.due_at)
    dairy.revision = plan.revision_approve(
        scope=dairy.owner, revision=draft, effective_from=second.due_at + HOUR, password=PASSWORD, at=second.due_at
    )
    checks.sweep(now=second.due_at + 2 * HOUR)
    new = dairy.check("Room 1 temperature")
    assert new.id != room.id
    following = DueCheck.objects.filter(check_due=new).earliest("due_at")
    todo = due_to_do(dairy.owner.premises, following.id)
    assert todo is not None
    assert last_record(todo) == early.record
    assert last_records([todo.due])[following.id] == early.record  # type: ignore[list-item]
    others = [premises.instrument_add(scope=dairy.owner, name="A", kind="thermometer", expanded_uncertainty=0.1)]
    assert usual_instrument(new, [*others, dairy.thermometer]) == dairy.thermometer

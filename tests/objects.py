"""One of everything that a route may name, and which parameter of which route names it.

tests/test_isolation.py and the test of the OpenAPI document fill the patterns of the running URL configuration from
here. A new route whose parameters are named as below needs nothing; another one fails there until it is added.
"""

import io
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from uuid import UUID, uuid4

from django.core.files.base import ContentFile
from django.utils import timezone
from PIL import Image

from batches.hygiene import actions as hygiene
from batches.hygiene.models import SwabPoint
from batches.intake import actions as intake
from batches.laboratory import actions as laboratory
from batches.making import actions as making
from batches.making.models import Make
from batches.recall import actions as recalls
from batches.stock import actions as stock
from batches.stock.models import Dispatch, Transfer
from haccp.access.actions.invitations import invitation_send
from haccp.access.models import Passkey
from haccp.calibration import actions as calibration
from haccp.checks import actions as checks
from haccp.checks.models import DueCheck, MissedCheck, PhotoFile
from haccp.deviations import actions as deviations
from haccp.deviations.models import Deviation
from haccp.keeping.actions import export_request
from haccp.keeping.models import PremisesExport
from haccp.notices import actions as notices
from haccp.plan import actions as plan
from haccp.plan.document.parts import Hazard, TeamMember
from haccp.plan.models import PlanRevision
from haccp.premises.actions import device_add, place_add, premises_add
from haccp.reports import actions as reports
from haccp.reports.models import VisitPack
from haccp.training.actions import training_record
from tests.dairy import OPENED_AT, Dairy

RECORDER_FILE = Path(__file__).parents[1] / "fixtures" / "recorders" / "vat_45min.csv"

# Name of a parameter -> kind of object, whatever the route.
PARAMETERS = {
    "due_id": "due",
    "check_id": "check",
    "record_id": "record",
    "trace_id": "trace",
    "missed_id": "missed",
    "deviation_id": "deviation",
    "place_id": "room",
    "pack_id": "pack",
    "export_id": "export",
    "device_id": "device",
    "membership_id": "membership",
    "invitation_id": "invitation",
    "token": "token",
    "uidb64": "token",
    "instrument_id": "instrument",
    "day": "day",
    "rest": "rest",
    "revision_id": "draft",
    "section": "section",
    "sheet": "sheet",
    "table": "table",
    "filetype": "filetype",
    "kind": "kind",
    "part_id": "part",
    "hazard_id": "hazard",
    "item_id": "item",
    "task_id": "task",
    "evidence_id": "evidence",
    "dispatch_id": "dispatch",
    "arriving_id": "arriving",
    "customer_id": "customer",
    "recall_id": "recall",
    "sample_id": "sample",
    "test_id": "sample_test",
    "calibration_id": "calibration",
    "method": "method",
    "supplier_id": "supplier",
    "count_id": "milk_count",
    "procedure_id": "procedure_draft",
    "product_id": "product",
    "period_id": "period",
    "absence_id": "absence",
    "method_id": "cleaning_method",
    "chemical_id": "chemical",
    "point_id": "swab_point",
    "swab_id": "swab",
    "push_device_id": "push_device",
    "photo_id": "photo",
    "brine_id": "brine",
    "passkey_id": "passkey",
}
# Start of a route and parameter -> kind of object, where the name alone does not say it.
ROUTES = {
    ("api/v1/due-checks/", "pk"): "due",
    ("api/v1/checks/", "pk"): "check",
    ("api/v1/records/", "pk"): "record",
    ("api/v1/recorder-files/", "pk"): "trace",
    ("api/v1/missed/", "pk"): "missed",
    ("api/v1/closed-periods/", "pk"): "period",
    ("api/v1/absences/", "pk"): "absence",
    ("api/v1/deviations/tasks/", "pk"): "task",
    ("api/v1/deviations/evidence/", "pk"): "evidence",
    ("api/v1/deviations/", "pk"): "deviation",
    ("api/v1/recalls/", "pk"): "recall",
    ("api/v1/lots/", "pk"): "batch",
    ("api/v1/milk/", "pk"): "milk",
    ("api/v1/makes/", "pk"): "batch",
    ("api/v1/heat-treatments/", "pk"): "heat_record",
    ("api/v1/packs/", "pk"): "pack",
    ("api/v1/brines/", "pk"): "brine",
    ("api/v1/dispatches/", "pk"): "dispatch",
    ("api/v1/calibrations/", "pk"): "calibration",
    ("api/v1/instruments/", "pk"): "instrument",
    ("api/v1/hygiene/chemicals/", "pk"): "chemical",
    ("api/v1/hygiene/swabs/", "pk"): "swab",
    ("api/v1/rooms/", "pk"): "room",
    ("api/v1/samples/tests/", "pk"): "sample_test",
    ("api/v1/samples/", "pk"): "sample",
    ("batches/", "lot_id"): "batch",
    ("papers/", "lot_id"): "batch",
    ("batches/", "stage_id"): "make_stage",
    ("batches/", "record_id"): "heat_record",
    ("batches/", "event_id"): "make_event",
    ("procedures/drafts/", "stage_id"): "draft_stage",
    ("trace/", "lot_id"): "batch",
    ("deviations/", "lot_id"): "batch",
    ("id/", "rest"): "label",
    ("milk/", "lot_id"): "milk",
    ("hygiene/use/", "lot_id"): "batch",
    ("lots/", "lot_id"): "milk",
    ("ingredients/", "lot_id"): "ingredient",
    ("api/v1/ingredients/", "pk"): "ingredient",
}
# Route -> what its address must ask for besides: name in the query -> kind of object.
QUERIES = {"recorder/<uuid:trace_id>/": {"check": "heat_check", "lot": "batch"}}
# Kinds that belong to no dairy: everybody may name them, and sees what is their own.
VALUES = {
    "token": "nobody-was-sent-this",
    "method": "ice_point",
    "day": "2026-03-02",
    "rest": "nothing",
    "sheet": "limits",
    "table": "records",
    "filetype": "csv",
    "section": "team",
    "kind": "team_members",
}


@dataclass(frozen=True, slots=True)
class Objects:
    """ids: kind -> id of that kind in this dairy."""

    dairy: Dairy
    ids: Mapping[str, str]

    def marks(self) -> tuple[str, ...]:
        """What an answer that shows anything of this dairy would hold."""
        names = (self.dairy.owner.premises.name, self.dairy.maker.user.email)
        return (*self.ids.values(), *names)


def kind_of(route: str, parameter: str) -> str:
    """Raises LookupError with what a developer is to do."""
    for (start, name), kind in ROUTES.items():
        if name == parameter and route.startswith(start):
            return kind
    if parameter in PARAMETERS:
        return PARAMETERS[parameter]
    raise LookupError(
        f"The route “{route}” has a parameter “{parameter}” that tests/objects.py does not know. Make one such object "
        "in furnish() and say in ROUTES or PARAMETERS that this parameter names it."
    )


def furnish(dairy: Dairy) -> Objects:
    """Gives a dairy one of each: a day of work, a batch on hold, a missed check, a recorder's file, a visit pack.

    Writes a file: MEDIA_ROOT must be a folder of the test.
    """
    at = OPENED_AT + timedelta(hours=1)
    milk = dairy.receive_milk(at=at)
    supplier = intake.supplier_add(scope=dairy.maker, supplier_id=uuid4(), name="Hill Farm", kind="milk", now=at)
    used = dairy.write_procedure(at=at)
    make = dairy.start_make(at=at + timedelta(hours=1), milk=milk)
    procedure = making.procedure_draft(scope=dairy.maker, product_id=dairy.product.id, now=at)
    dairy.event(make, "starter_added", at=make.lot.begun_at)
    dairy.event(make, "placed_in_room", at=make.lot.begun_at, place=dairy.room)
    saved = dairy.save(
        "Room 1 temperature", "17", at=make.lot.begun_at + timedelta(hours=1), instrument_id=dairy.thermometer.id
    )
    trace = checks.trace_store_file(
        scope=dairy.maker, trace_id=uuid4(), data=RECORDER_FILE.read_bytes(), filename="run.csv", lot_id=None
    )
    heated = dairy.save(
        "Heat treatment", at=make.lot.begun_at, lot_id=make.lot_id, trace_id=trace.id, instrument_id=dairy.recorder.id
    )
    checks.sweep(now=OPENED_AT + timedelta(days=1))
    device, _ = device_add(scope=dairy.owner, name="tablet")
    premises = dairy.owner.premises
    draft = plan.revision_copy(scope=dairy.owner, change_summary="A new cheese.", at=OPENED_AT + timedelta(days=1))
    member = plan.part_add(scope=dairy.owner, revision=draft, part=TeamMember(name="Orla Owner"))
    ids = {
        "draft": draft.id,
        "part": member.key,
        "hazard": _hazard(dairy, draft),
        "due": DueCheck.objects.for_premises(premises).unsettled().filter(lot__isnull=True)[0].id,
        "check": dairy.check("Room 1 temperature").id,
        "heat_check": dairy.check("Heat treatment").id,
        "record": saved.record.id,
        "heat_record": heated.record.id,
        "trace": trace.id,
        "missed": MissedCheck.objects.filter(due__premises=premises)[0].id,
        "deviation": Deviation.objects.for_premises(premises).filter(cause="ruling")[0].id,
        "milk": milk.lot_id,
        "procedure_draft": procedure.id,
        "draft_stage": procedure.stages.all()[0].id,
        "make_stage": used.stages.all()[0].id,
        "make_event": make.lot.events.get(kind="starter_added").id,
        "supplier": supplier.id,
        "milk_count": intake.count_record(
            scope=dairy.maker,
            count_id=uuid4(),
            supplier_id=supplier.id,
            species="cow",
            quantity="somatic_cells",
            sampled_on=dairy.owner.premises.local_date(at),
            text="200000",
            now=at,
        ).pk,
        "ingredient": dairy.receive_ingredient(at=at).pk,
        "batch": make.lot_id,
        "room": dairy.room.id,
        "device": device.id,
        "membership": dairy.helper.membership.id,
        "invitation": invitation_send(scope=dairy.owner, email="ina@invited.example", role="helper")[0].id,
        "instrument": dairy.thermometer.id,
        "period": _closed_period(dairy),
        **_told_and_cleaned(dairy),
        "pack": _pack(dairy).id,
        "export": _export(dairy).id,
        "label": f"batch/{make.lot_id}",
        **_stock(dairy, make),
        "brine": _brine(dairy),
        "passkey": Passkey.objects.create(
            user=dairy.owner.user, name="telephone", credential_id=uuid4().bytes, public_key=b"k", added_at=OPENED_AT
        ).pk,
        **_about_a_deviation(dairy),
        **_sample(dairy, make.lot_id),
        "calibration": _calibration(dairy),
        "training": training_record(
            scope=dairy.owner,
            training_id=uuid4(),
            person_id=dairy.helper.user.pk,
            subject="Food hygiene",
            given_by="Weir College",
            given_on=dairy.owner.premises.local_date(at),
            now=at,
        ).pk,
        "product": dairy.product.id,
        "control_point": dairy.check("Vat 1 cleaned").control_point_id,
    }
    return Objects(dairy, {kind: str(value) for kind, value in ids.items()})


def _hazard(dairy: Dairy, draft: PlanRevision) -> str:
    """A significant hazard at the draft's first step, for which the decision tree can be asked."""
    step = draft.steps.all()[0]
    hazard = Hazard(step=step.key, kind="biological", name="Listeria monocytogenes", significant=True)
    return plan.part_add(scope=dairy.owner, revision=draft, part=hazard).key


def _about_a_deviation(dairy: Dairy) -> dict[str, object]:
    """A task and a file of the deviation that the others name."""
    deviation = Deviation.objects.for_premises(dairy.owner.premises).filter(cause="ruling")[0]
    task = deviations.task_add(
        scope=dairy.maker, task_id=uuid4(), deviation_id=deviation.pk, title="Mend the door",
        owner_id=dairy.helper.user.pk, due_on=dairy.owner.premises.local_date(timezone.now()),
    )  # fmt: skip
    evidence = deviations.evidence_attach(
        scope=dairy.maker, evidence_id=uuid4(), deviation_id=deviation.pk, content=b"door", filename="door.txt"
    )
    return {"task": task.pk, "evidence": evidence.pk}


def _told_and_cleaned(dairy: Dairy) -> dict[str, object]:
    """An absence, a cleaning method with its chemical, a swab that waits for its result, and a browser."""
    day = dairy.owner.premises.local_date(timezone.now())
    chemical = hygiene.chemical_add(scope=dairy.owner, chemical_id=uuid4(), name="Chlorine", purpose="sanitiser")
    method = hygiene.method_set(
        scope=dairy.owner,
        method_id=uuid4(),
        place_id=dairy.vat.id,
        name="Daily wash",
        check_key=UUID(dairy.check("Vat 1 cleaned").key),
        steps=[hygiene.StepTyped("rinse", "Cold water")],
        chemical_ids=[chemical.id],
    )
    point = hygiene.swab_point_add(scope=dairy.owner, point_id=uuid4(), place_id=dairy.vat.id, name="Valve", zone=1)
    swab = hygiene.swab_take(scope=dairy.owner, swab_id=uuid4(), point_id=point.id, code="S-1", taken_at=timezone.now())
    _swab_at_the_laboratory(dairy, point)
    absence = checks.absence_add(
        scope=dairy.owner,
        absence_id=uuid4(),
        membership_id=dairy.owner.membership.id,
        first=day,
        last=day + timedelta(days=3),
    )
    device = notices.push_device_add(
        scope=dairy.owner, endpoint="https://push.browser.example/send/1", p256dh="key", auth="secret"
    )
    notices.raise_alerts()
    return {
        "chemical": chemical.id,
        "cleaning_method": method.id,
        "swab_point": point.id,
        "swab": swab.id,
        "absence": absence.id,
        "push_device": device.id,
        "photo": _photo(dairy).id,
    }


def _swab_at_the_laboratory(dairy: Dairy, point: SwabPoint) -> None:
    """Sent as a sample, and found free."""
    now = timezone.now()
    hygiene.rota_set(
        scope=dairy.owner,
        rota_id=uuid4(),
        zone=point.zone,
        first_on=dairy.owner.premises.local_date(now),
        every_days=7,
        at_once=1,
        control_point_code="PRP 2",
    )
    swab = hygiene.swab_take(scope=dairy.owner, swab_id=uuid4(), point_id=point.id, code="S-2", taken_at=now)
    (sent,) = hygiene.swabs_send(scope=dairy.owner, swab_ids=[swab.id], laboratory="County laboratory")
    laboratory.result_enter(
        scope=dairy.owner, result_id=uuid4(), test_id=sent.test_id, values=["not detected"], reported_at=timezone.now()
    )


def _photo(dairy: Dairy) -> PhotoFile:
    made = io.BytesIO()
    Image.new("RGB", (40, 30), "white").save(made, "PNG")
    return checks.photo_store(scope=dairy.owner, photo_id=uuid4(), data=made.getvalue())


def _brine(dairy: Dairy) -> UUID:
    now = timezone.now()
    tank = place_add(scope=dairy.owner, name="Brine tank", kind="brine_tank", at=now)
    salt = dairy.receive_ingredient(at=now, kind="salt", amount="50", amount_unit="kg")
    return making.brine_make_up(
        scope=dairy.maker, lot_id=uuid4(), tank_id=tank.pk, water="mains", volume="150", volume_unit="L",
        salt_id=salt.pk, salt="30", salt_unit="kg", made_at=now,
    ).pk  # fmt: skip


def _stock(dairy: Dairy, make: Make) -> dict[str, object]:
    """A wheel, a customer, an empty dispatch (nothing of the batch may leave), and a recall with its lot."""
    now = timezone.now()
    (wheel,) = stock.items_add(
        scope=dairy.maker, request_id=uuid4(), lot_id=make.pk, kind="wheel", weights="3.0", unit="kg", entered_at=now
    )
    customer = stock.customer_add(scope=dairy.maker, customer_id=uuid4(), name="Weir Shop", phone="555 0100")
    dispatch = Dispatch.objects.create(
        premises=dairy.owner.premises, customer=customer, number=1, document_type="note", document_number="1",
        dispatched_at=now, recorded_at=now, recorded_by=dairy.maker.user,
    )  # fmt: skip
    # From another premises of the producer, on its way here.
    cave = premises_add(
        scope=dairy.owner, premises_id=uuid4(), name="The Cave", time_zone="Europe/Dublin", jurisdiction="EU"
    )
    to_us = stock.customer_add(scope=cave, customer_id=uuid4(), name="The dairy", phone="1", is_ours=True)
    arriving = Dispatch.objects.create(
        premises=cave.premises, customer=to_us, number=1, document_type="note", document_number="1",
        dispatched_at=now, recorded_at=now, recorded_by=dairy.owner.user,
    )  # fmt: skip
    Transfer.objects.create(dispatch=arriving, receiver=dairy.owner.premises)
    recall = recalls.recall_start(scope=dairy.maker, recall_id=uuid4(), kind="exercise", reason="Yearly exercise.")
    recalls.recall_choose(scope=dairy.maker, recall_id=recall.pk, mark_id=uuid4(), lot_id=make.pk, reach="forward")
    return {
        "item": wheel.pk,
        "customer": customer.pk,
        "dispatch": dispatch.pk,
        "arriving": arriving.pk,
        "recall": recall.pk,
    }


def _sample(dairy: Dairy, lot_id: UUID) -> dict[str, UUID]:
    sample = laboratory.sample_take(
        scope=dairy.maker,
        sample_id=uuid4(),
        laboratory="County laboratory",
        tests=[laboratory.TestAsked(kind="absence", parameter="Salmonella", absent_in="25 g")],
        taken_at=timezone.now(),
        lot_id=lot_id,
    )
    return {"sample": sample.pk, "sample_test": sample.tests.get().pk}


def _calibration(dairy: Dairy) -> UUID:
    return calibration.instrument_calibrate(
        scope=dairy.maker,
        calibration_id=uuid4(),
        instrument_id=dairy.thermometer.id,
        method="ice_point",
        performed_at=timezone.now(),
        points=[calibration.PointTyped(found="0.1")],
        unit="°C",
        tolerance="1",
        valid_until=timezone.localdate() + timedelta(days=90),
    ).pk


def _closed_period(dairy: Dairy) -> UUID:
    day = dairy.owner.premises.local_date(timezone.now())
    return checks.closed_period_add(
        scope=dairy.owner,
        period_id=uuid4(),
        without="milk",
        first=day + timedelta(days=60),
        last=day + timedelta(days=70),
        reason="The ewes are dry.",
    ).id


def _export(dairy: Dairy) -> PremisesExport:
    """A finished one, as of a pack."""
    export = export_request(scope=dairy.owner, export_id=uuid4())
    export.file.save(f"{export.id}.zip", ContentFile(b"PK"), save=False)
    export.finished_at = timezone.now()
    export.save()
    return export


def _pack(dairy: Dairy) -> VisitPack:
    """A finished one. What stands in the file is no matter here, so that it need not be drawn."""
    day = dairy.owner.premises.local_date(OPENED_AT)
    pack = reports.pack_request(scope=dairy.owner, pack_id=uuid4(), period_from=day, period_to=day)
    pack.file.save(f"{pack.id}.pdf", ContentFile(b"%PDF-1.7"), save=False)
    pack.finished_at = timezone.now()
    pack.save()
    return pack

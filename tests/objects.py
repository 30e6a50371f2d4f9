"""One of everything that a route may name, and which parameter of which route names it.

tests/test_isolation.py and the test of the OpenAPI document fill the patterns of the running URL configuration from
here. A new route whose parameters are named as below needs nothing; another one fails there until it is added.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

from django.core.files.base import ContentFile
from django.utils import timezone

from haccp.checks import actions as checks
from haccp.checks.models import DueCheck, MissedCheck
from haccp.deviations.models import Deviation
from haccp.plan import actions as plan
from haccp.plan.document.parts import Hazard, TeamMember
from haccp.plan.models import PlanRevision
from haccp.premises.actions import device_add
from haccp.reports import actions as reports
from haccp.reports.models import VisitPack
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
    "device_id": "device",
    "day": "day",
    "rest": "rest",
    "revision_id": "draft",
    "section": "section",
    "sheet": "sheet",
    "kind": "kind",
    "part_id": "part",
    "hazard_id": "hazard",
}
# Start of a route and parameter -> kind of object, where the name alone does not say it.
ROUTES = {
    ("api/v1/due-checks/", "pk"): "due",
    ("api/v1/checks/", "pk"): "check",
    ("api/v1/records/", "pk"): "record",
    ("api/v1/recorder-files/", "pk"): "trace",
    ("api/v1/missed/", "pk"): "missed",
    ("api/v1/deviations/", "pk"): "deviation",
    ("api/v1/milk/", "pk"): "milk",
    ("api/v1/makes/", "pk"): "batch",
    ("api/v1/packs/", "pk"): "pack",
    ("batches/", "lot_id"): "batch",
    ("papers/", "lot_id"): "batch",
    ("milk/", "lot_id"): "milk",
}
# Route -> what its address must ask for besides: name in the query -> kind of object.
QUERIES = {"recorder/<uuid:trace_id>/": {"check": "heat_check", "lot": "batch"}}
# Kinds that belong to no dairy: everybody may name them, and sees what is their own.
VALUES = {"day": "2026-03-02", "rest": "nothing", "sheet": "limits", "section": "team", "kind": "team_members"}


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
    make = dairy.start_make(at=at + timedelta(hours=1), milk=milk)
    dairy.event(make, "starter_added", at=make.lot.begun_at)
    dairy.event(make, "placed_in_room", at=make.lot.begun_at, place=dairy.room)
    saved = dairy.save(
        "Room 1 temperature", "17", at=make.lot.begun_at + timedelta(hours=1), instrument_id=dairy.thermometer.id
    )
    trace = checks.trace_store_file(
        scope=dairy.maker, trace_id=uuid4(), data=RECORDER_FILE.read_bytes(), filename="run.csv", lot_id=None
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
        "trace": trace.id,
        "missed": MissedCheck.objects.filter(due__premises=premises)[0].id,
        "deviation": Deviation.objects.for_premises(premises).filter(cause="ruling")[0].id,
        "milk": milk.lot_id,
        "batch": make.lot_id,
        "room": dairy.room.id,
        "device": device.id,
        "pack": _pack(dairy).id,
        "product": dairy.product.id,
        "control_point": dairy.check("Vat 1 cleaned").control_point_id,
    }
    return Objects(dairy, {kind: str(value) for kind, value in ids.items()})


def _hazard(dairy: Dairy, draft: PlanRevision) -> str:
    """A significant hazard at the draft's first step, for which the decision tree can be asked."""
    step = draft.steps.all()[0]
    hazard = Hazard(step=step.key, kind="biological", name="Listeria monocytogenes", significant=True)
    return plan.part_add(scope=dairy.owner, revision=draft, part=hazard).key


def _pack(dairy: Dairy) -> VisitPack:
    """A finished one. What stands in the file is no matter here, so that it need not be drawn."""
    day = dairy.owner.premises.local_date(OPENED_AT)
    pack = reports.pack_request(scope=dairy.owner, pack_id=uuid4(), period_from=day, period_to=day)
    pack.file.save(f"{pack.id}.pdf", ContentFile(b"%PDF-1.7"), save=False)
    pack.finished_at = timezone.now()
    pack.save()
    return pack

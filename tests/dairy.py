"""A small dairy built through the same actions that people use. Honest defaults, nothing random."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import Any
from uuid import UUID, uuid4

from batches.intake import actions as intake
from batches.intake.models import IngredientLot, MilkLot
from batches.making import actions as making
from batches.making.models import Make, Procedure
from haccp.checks import actions as checks
from haccp.lots.kinds import EventKind
from haccp.plan import actions as plan
from haccp.plan.document.parts import Link, ProductDescription
from haccp.plan.models import Check, PlanRevision, ProcessStep, Product
from haccp.premises import actions as premises
from haccp.premises.models import Instrument, Place
from haccp.premises.scope import Scope

PASSWORD = "tall reeds by the weir"
OPENED_AT = datetime(2026, 3, 1, 6, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


@dataclass
class Dairy:
    """owner, maker and helper are scopes; checks by name."""

    owner: Scope
    maker: Scope
    helper: Scope
    vat: Place
    room: Place
    thermometer: Instrument
    ph_meter: Instrument
    recorder: Instrument
    product: Product
    revision: PlanRevision

    def check(self, name: str) -> Check:
        return self.revision.checks.get(name=name)

    def entries(self, name: str, *values: tuple[str, str] | str) -> dict[UUID, checks.EntryTyped]:
        """Typed values in the order of the check's measures; "" leaves one out."""
        measures = list(self.check(name).measures.all())
        typed = [value if isinstance(value, tuple) else (value, "") for value in values]
        return {
            measure.id: checks.EntryTyped(*value) for measure, value in zip(measures, typed, strict=False) if value[0]
        }

    def save(self, name: str, *values: tuple[str, str] | str, at: datetime, **more: object) -> checks.Saved:
        """Saves a record of the named check, recorded a minute after it was observed."""
        arguments: dict[str, object] = {
            "scope": self.maker,
            "record_id": uuid4(),
            "check_id": self.check(name).id,
            "entries": self.entries(name, *values),
            "observed_at": at,
            "now": at + timedelta(minutes=1),
        }
        return checks.record_save(**(arguments | more))  # type: ignore[arg-type]

    def receive_milk(self, *, at: datetime, volume: str = "200", accepted: bool = True) -> MilkLot:
        """Accepted before its check falls due, as at a dairy that tests while it unloads."""
        milk = intake.milk_receive(
            scope=self.maker,
            lot_id=uuid4(),
            species="cow",
            source="own herd",
            volume=volume,
            volume_unit="L",
            received_at=at,
            now=at,
        )
        if accepted:
            self.decide(milk.lot_id, "accepted", at=at, reason="The residue test was seen; it is written down later.")
        return milk

    def decide(self, lot_id: UUID, decision: str, *, at: datetime, reason: str = "") -> None:
        intake.acceptance_decide(
            scope=self.maker, acceptance_id=uuid4(), lot_id=lot_id, decision=decision, reason=reason, now=at
        )

    def receive_ingredient(
        self, *, at: datetime, kind: str = "rennet", amount: str = "500", **more: Any
    ) -> IngredientLot:
        """Half a litre of rennet, unless told otherwise; accepted."""
        arguments: dict[str, Any] = {
            "scope": self.maker,
            "lot_id": uuid4(),
            "kind": kind,
            "name": f"{kind} of the year",
            "amount": amount,
            "amount_unit": "mL",
            "received_at": at,
            "now": at,
        }
        row = intake.ingredient_receive(**(arguments | more))
        self.decide(row.pk, "accepted", at=at)
        return row

    def start_make(self, *, at: datetime, milk: MilkLot | None = None) -> Make:
        milk = milk or self.receive_milk(at=at - HOUR)
        return making.make_start(
            scope=self.maker,
            lot_id=uuid4(),
            product_id=self.product.id,
            vat_id=self.vat.id,
            milk_l={milk.lot_id: milk.volume_l},
            started_at=at,
            now=at,
        )

    def write_procedure(self, *, at: datetime, family: str = "semi_hard") -> Procedure:
        """The usual stages of a family, put in use; 25 mL of rennet and 2 g of culture for 100 L."""
        draft = making.procedure_draft(scope=self.maker, product_id=self.product.id, family=family, now=at)
        for kind, ingredient, amount, unit in (("ripen", "culture", 2.0, "g"), ("rennet", "rennet", 25.0, "mL")):
            stage = draft.stages.get(kind=kind)
            making.dose_put(
                scope=self.maker, procedure_id=draft.id, stage_id=stage.id, ingredient_kind=ingredient, amount=amount,
                unit=unit,
            )  # fmt: skip
        return making.procedure_put_in_use(scope=self.maker, procedure_id=draft.id, note="", now=at)

    def event(self, make: Make, kind: str, *, at: datetime, place: Place | None = None) -> None:
        checks.event_record(
            scope=self.maker,
            lot_id=make.lot_id,
            kind=kind,
            occurred_at=at,
            event_id=uuid4(),
            place_id=place.id if place else None,
            now=at,
        )


def open_dairy(*, name: str = "Weir Farm Dairy", time_zone: str = "Europe/Dublin", at: datetime = OPENED_AT) -> Dairy:
    """Opens a dairy with an approved plan: heat treatment (CCP 1), acidity (CCP 2), ripening room (CCP 3), milk
    acceptance (PRP 1) and cleaning (PRP 2)."""
    tag = name.split()[0].lower()
    owner = premises.premises_open(
        producer_name=name,
        name=name,
        time_zone=time_zone,
        jurisdiction="EU",
        owner_name="Orla Owner",
        owner_email=f"owner@{tag}.example",
        owner_password=PASSWORD,
        at=at,
    )
    maker = Scope(
        premises.person_add(
            scope=owner, name="Milo Maker", email=f"maker@{tag}.example", password=PASSWORD, role="maker", at=at
        )
    )
    helper = Scope(
        premises.person_add(
            scope=owner, name="Hanna Helper", email=f"helper@{tag}.example", password=PASSWORD, role="helper", at=at
        )
    )
    vat = premises.place_add(scope=owner, name="Vat 1", kind="vat", walking_order=1, at=at)
    room = premises.place_add(scope=owner, name="Room 1", kind="ripening_room", walking_order=2, at=at)

    def instrument(label: str, kind: str, uncertainty: float) -> Instrument:
        return premises.instrument_add(
            scope=owner,
            name=label,
            kind=kind,
            expanded_uncertainty=uncertainty,
            calibrated_on=date(2026, 1, 10),
            calibration_valid_until=date(2027, 1, 10),
            at=at,
        )

    dairy = Dairy(
        owner=owner,
        maker=maker,
        helper=helper,
        vat=vat,
        room=room,
        thermometer=instrument("Thermometer", "thermometer", 0.2),
        ph_meter=instrument("pH meter", "ph_meter", 0.04),
        recorder=instrument("Recorder", "recorder", 0.2),
        product=plan.product_add(
            scope=owner, name="Weir Tomme", code="WT", species="cow", treatment="pasteurised", at=at
        ),
        revision=plan.revision_draft(scope=owner, scope_statement="All cheese.", change_summary="First plan.", at=at),
    )
    add_flow(owner, dairy.revision)
    describe(dairy)
    for draft in _control_points(dairy):
        plan.control_point_add(scope=owner, revision=dairy.revision, draft=draft)
    dairy.revision = plan.revision_approve(
        scope=owner, revision=dairy.revision, effective_from=at, password=PASSWORD, at=at
    )
    return dairy


def describe(dairy: Dairy) -> None:
    """What the label of the cheese must say."""
    part = ProductDescription(
        product=dairy.product.code,
        allergens=("milk",),
        labelling="Pasteurised cow's milk cheese. Keep refrigerated.",
        shelf_life_days=60,
    )
    plan.part_add(scope=dairy.owner, revision=dairy.revision, part=part)


def add_flow(scope: Scope, revision: PlanRevision) -> list[ProcessStep]:
    """From the milk to the dispatch, each step linked to the next."""
    kinds = {
        "Milk received": "reception",
        "Pasteurised": "operation",
        "Made": "operation",
        "Ripened": "storage",
        "Dispatched": "dispatch",
    }
    steps = [plan.step_add(scope=scope, revision=revision, name=name, kind=kind) for name, kind in kinds.items()]
    plan.parts_add(
        scope=scope,
        revision=revision,
        parts=[Link(start=one.key, end=other.key) for one, other in pairwise(steps)],
    )
    return steps


def _control_points(dairy: Dairy) -> list[plan.ControlPointDraft]:
    return [_heat(), _acidity(), _room(dairy), _milk(), _cleaning(dairy)]


def _heat() -> plan.ControlPointDraft:
    """63 °C for 30 min: Regulation (EC) 853/2004 Annex III s. IX ch. II."""
    return plan.ControlPointDraft(
        code="CCP 1",
        name="Pasteurisation",
        kind="ccp",
        corrective_action="Hold the milk; heat it again in full, or divert it.",
        limits=[
            plan.LimitDraft(
                key="hold",
                statement="At least 63 °C for 30 min",
                quantity="temperature",
                evaluator="holding",
                comparator="at_least",
                low=63.0,
                parameters={"hold_s": 1800},
                unit="°C",
            )
        ],
        checks=[
            plan.CheckDraft(
                name="Heat treatment",
                subject="batch",
                cadence={"kind": "event", "event": EventKind.MAKE_STARTED, "offsets_s": [0]},
                measures=[plan.MeasureDraft("Recorder file", "recorder_file", "temperature", limits=["hold"])],
                instrument_kind="recorder",
                window_before_s=0,
                grace_s=4 * 3600,
            )
        ],
    )


def _acidity() -> plan.ControlPointDraft:
    return plan.ControlPointDraft(
        code="CCP 2",
        name="Acidification",
        kind="ccp",
        corrective_action="Keep the batch apart; have it tested for coagulase-positive staphylococci.",
        limits=[
            plan.LimitDraft(
                key="ph",
                statement="pH at most 5.40 within 6 h of the starter",
                quantity="ph",
                evaluator="elapsed",
                comparator="at_most",
                high=5.40,
                parameters={"from_event": EventKind.STARTER_ADDED, "within_s": 21600},
                unit="pH",
            )
        ],
        checks=[
            plan.CheckDraft(
                name="pH of the curd",
                subject="batch",
                cadence={
                    "kind": "event",
                    "event": EventKind.STARTER_ADDED,
                    "offsets_s": [2 * 3600, 4 * 3600, 6 * 3600],
                },
                measures=[plan.MeasureDraft("pH", "number", "ph", "pH", limits=["ph"])],
                instrument_kind="ph_meter",
                window_before_s=1800,
                grace_s=1800,
            )
        ],
    )


def _room(dairy: Dairy) -> plan.ControlPointDraft:
    return plan.ControlPointDraft(
        code="CCP 3",
        name="Ripening room",
        kind="ccp",
        corrective_action="Move the cheeses to the other room; find out since when it was warm.",
        limits=[
            plan.LimitDraft(
                key="air",
                statement="Air between 8 and 14 °C",
                quantity="temperature",
                evaluator="reading",
                comparator="between",
                low=8.0,
                high=14.0,
                target_low=9.0,
                target_high=13.0,
                unit="°C",
            )
        ],
        checks=[
            plan.CheckDraft(
                name="Room 1 temperature",
                subject="place",
                place=dairy.room,
                cadence={"kind": "clock", "rrule": "FREQ=DAILY;BYHOUR=8;BYMINUTE=0;BYSECOND=0", "from": "2026-01-01"},
                measures=[
                    plan.MeasureDraft("Top shelf", "number", "temperature", "°C", limits=["air"]),
                    plan.MeasureDraft("Bottom shelf", "number", "temperature", "°C", required=False, limits=["air"]),
                ],
                instrument_kind="thermometer",
                window_before_s=3600,
                grace_s=7200,
            )
        ],
    )


def _milk() -> plan.ControlPointDraft:
    return plan.ControlPointDraft(
        code="PRP 1",
        name="Milk acceptance",
        kind="prerequisite",
        programme="suppliers",
        corrective_action="Refuse the milk and tell the supplier.",
        limits=[
            plan.LimitDraft(
                key="cold",
                statement="Milk at most 10 °C on arrival",
                quantity="temperature",
                evaluator="reading",
                comparator="at_most",
                high=10.0,
                unit="°C",
            ),
            plan.LimitDraft(
                key="residues",
                statement="Residue test negative",
                quantity="answer",
                evaluator="answer",
                comparator="one_of",
                accepted=["negative"],
            ),
        ],
        checks=[
            plan.CheckDraft(
                name="Milk acceptance",
                subject="milk",
                cadence={"kind": "event", "event": EventKind.MILK_RECEIVED, "offsets_s": [0]},
                measures=[
                    plan.MeasureDraft("Temperature", "number", "temperature", "°C", limits=["cold"]),
                    plan.MeasureDraft("Residue test", "answer", choices=["negative", "positive"], limits=["residues"]),
                ],
                instrument_kind="thermometer",
                window_before_s=0,
                grace_s=3600,
            )
        ],
    )


def _cleaning(dairy: Dairy) -> plan.ControlPointDraft:
    """100 mg/L chlorine at 13 °C or more for 10 s: FDA Food Code 4-501.114."""
    return plan.ControlPointDraft(
        code="PRP 2",
        name="Cleaning of the vat",
        kind="prerequisite",
        programme="cleaning",
        corrective_action="Clean again before use.",
        limits=[
            plan.LimitDraft(
                key="chlorine",
                statement="Chlorine at least 100 mg/L",
                quantity="concentration",
                evaluator="reading",
                comparator="at_least",
                low=100.0,
                unit="mg/L",
            )
        ],
        checks=[
            plan.CheckDraft(
                name="Vat 1 cleaned",
                subject="place",
                place=dairy.vat,
                cadence={"kind": "clock", "rrule": "FREQ=DAILY;BYHOUR=17;BYMINUTE=0;BYSECOND=0", "from": "2026-01-01"},
                measures=[
                    plan.MeasureDraft("Chlorine", "number", "concentration", "mg/L", limits=["chlorine"]),
                    plan.MeasureDraft("Looks clean", "answer", choices=["yes", "no"]),
                ],
                grace_s=3600,
            )
        ],
    )

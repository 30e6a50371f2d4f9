"""What belongs to a premises, table by table, and what stays behind and why.

Every model is in exactly one of the tables here; a test holds a new one to that.
"""

from collections.abc import Mapping

from django.apps import apps
from django.db.models import Field, ForeignKey, Model, QuerySet

from haccp.premises.models import Premises, User

# Label -> lookup from a row to its premises. Inserted in any order: the database looks at references at the end.
OF_PREMISES: dict[str, str] = {
    "access.Invitation": "premises",
    "calibration.Calibration": "premises",
    "calibration.Doubt": "calibration__premises",
    "calibration.DoubtedReading": "calibration__premises",
    "calibration.LaterRuling": "doubt__calibration__premises",
    "checks.Absence": "membership__premises",
    "checks.BackAgain": "absence__membership__premises",
    "checks.ClosedPeriod": "premises",
    "checks.DayLeftUnreviewed": "premises",
    "checks.DaySignature": "premises",
    "checks.DueCheck": "premises",
    "checks.FreeDay": "premises",
    "checks.Keeper": "premises",
    "checks.MissedCheck": "due__premises",
    "checks.MissedReason": "missed__due__premises",
    "checks.PhotoFile": "premises",
    "checks.PlanningMark": "premises",
    "checks.Reading": "record__premises",
    "checks.Record": "premises",
    "checks.Reopening": "period__premises",
    "checks.RulingRow": "record__premises",
    "checks.TraceFile": "premises",
    "deviations.Closure": "deviation__premises",
    "deviations.CorrectiveStep": "deviation__premises",
    "deviations.Deviation": "premises",
    "deviations.Evidence": "deviation__premises",
    "deviations.ImplicatedLot": "deviation__premises",
    "deviations.LotEnd": "deviation__premises",
    "deviations.MissedAgain": "deviation__premises",
    "deviations.Task": "deviation__premises",
    "deviations.TaskDone": "task__deviation__premises",
    "deviations.Widening": "deviation__premises",
    "hygiene.Chemical": "premises",
    "hygiene.ChemicalLot": "chemical__premises",
    "hygiene.Cleaning": "record__premises",
    "hygiene.CleaningLot": "cleaning__record__premises",
    "hygiene.Method": "place__premises",
    "hygiene.MethodChemical": "method__place__premises",
    "hygiene.MethodStep": "method__place__premises",
    "hygiene.Rota": "premises",
    "hygiene.Swab": "point__place__premises",
    "hygiene.SwabPoint": "place__premises",
    "hygiene.SwabResult": "swab__point__place__premises",
    "hygiene.SwabSent": "swab__point__place__premises",
    "hygiene.UncleanUse": "deviation__premises",
    "intake.Acceptance": "lot__premises",
    "intake.IngredientLot": "lot__premises",
    "intake.MilkCount": "premises",
    "intake.MilkFinding": "lot__premises",
    "intake.MilkLot": "lot__premises",
    "intake.StockChange": "lot__premises",
    "intake.Supplier": "premises",
    "laboratory.Sample": "premises",
    "laboratory.SampleTest": "sample__premises",
    "laboratory.TestResult": "test__sample__premises",
    "lots.Hold": "lot__premises",
    "lots.HoldLift": "hold__lot__premises",
    "lots.Lot": "premises",
    "lots.LotEvent": "lot__premises",
    "lots.LotLink": "child__premises",
    "lots.LotOrigin": "lot__premises",
    "lots.RevisionMove": "lot__premises",
    "making.Brine": "lot__premises",
    "making.BrineChange": "brine__lot__premises",
    "making.BrineUse": "brine__lot__premises",
    "making.Dose": "stage__procedure__product__premises",
    "making.FlowDiversion": "sheet__record__premises",
    "making.HeatSheet": "record__premises",
    "making.IngredientUse": "make__lot__premises",
    "making.Make": "lot__premises",
    "making.MakeYield": "make__lot__premises",
    "making.PhosphataseResult": "make__lot__premises",
    "making.Procedure": "product__premises",
    "making.ProcedureMilk": "procedure__product__premises",
    "making.ProcedureStage": "procedure__product__premises",
    "making.StageMark": "make__lot__premises",
    "making.StageReading": "mark__make__lot__premises",
    "making.ThermometerReading": "sheet__record__premises",
    "notices.Alert": "deviation__premises",
    "notices.Delivery": "notice__membership__premises",
    "notices.Notice": "membership__premises",
    "notices.PushDevice": "membership__premises",
    "notices.Sent": "delivery__notice__membership__premises",
    "notices.Wishes": "membership__premises",
    "plan.Borrowed": "revision__premises",
    "plan.Check": "revision__premises",
    "plan.Check_products": "check__revision__premises",
    "plan.ControlMeasure": "revision__premises",
    "plan.ControlPoint": "revision__premises",
    "plan.ControlPoint_hazards": "controlpoint__revision__premises",
    "plan.CriticalLimit": "revision__premises",
    "plan.CriticalLimit_products": "criticallimit__revision__premises",
    "plan.DecisionAnswers": "revision__premises",
    "plan.FlowConfirmation": "revision__premises",
    "plan.FlowLink": "revision__premises",
    "plan.Hazard": "revision__premises",
    "plan.KeptDocument": "revision__premises",
    "plan.Measure": "revision__premises",
    "plan.Measure_limits": "measure__revision__premises",
    "plan.OpenJudgement": "revision__premises",
    "plan.PlanReview": "revision__premises",
    "plan.PlanRevision": "premises",
    "plan.ProcessStep": "revision__premises",
    "plan.ProcessStep_products": "processstep__revision__premises",
    "plan.Product": "premises",
    "plan.ProductDescription": "revision__premises",
    "plan.ReviewOccasion": "premises",
    "plan.ReviewTrigger": "revision__premises",
    "plan.RiskLevel": "revision__premises",
    "plan.StepMaterial": "revision__premises",
    "plan.TeamMember": "revision__premises",
    "plan.Validation": "revision__premises",
    "plan.Verification": "revision__premises",
    "premises.Instrument": "premises",
    "premises.Membership": "premises",
    "premises.Place": "premises",
    "premises.Premises": "pk",
    "recall.Recall": "premises",
    "recall.RecallMark": "recall__premises",
    "release.Release": "lot__premises",
    "reports.VisitPack": "premises",
    "ripening.Care": "premises",
    "ripening.CareLot": "care__premises",
    "ripening.CareRhythm": "product__premises",
    "ripening.RoomLog": "place__premises",
    "ripening.RoomReading": "place__premises",
    "ripening.Weighing": "lot__premises",
    "stock.Arrival": "premises",
    "stock.ArrivedLot": "lot__premises",
    "stock.CounterSale": "lot__premises",
    "stock.Customer": "premises",
    "stock.Dispatch": "premises",
    "stock.Item": "lot__premises",
    "stock.ItemEvent": "item__lot__premises",
    "stock.PartyNumber": "premises",
    "stock.TradeNumber": "product__premises",
    "stock.Transfer": "dispatch__premises",
    "tracing.ByProduct": "lot__premises",
    "training.Training": "premises",
}
# Label -> lookup from a row to the premises' log.
OF_LOG: dict[str, str] = {
    "ledger.Log": "pk",
    "ledger.Entry": "log",
    "ledger.PersonalText": "log",
    "ledger.Signature": "log",
    "ledger.SignedHead": "log",
}
# Shared with other premises: the producer, and everybody whom a row names.
SHARED = ("premises.Producer", "premises.User")

_KEY = "a key to this installation, made anew elsewhere"
_INSTALLATION = "of the installation, not of a premises"
STAYS: dict[str, str] = {
    "access.Passkey": _KEY,
    "access.Pin": _KEY,
    "access.VisitorLink": _KEY,
    "notices.CalendarAddress": _KEY,
    "otp_static.StaticDevice": _KEY,
    "otp_static.StaticToken": _KEY,
    "otp_totp.TOTPDevice": _KEY,
    "premises.DeviceToken": _KEY,
    "premises.AnsweredRequest": "of the moment",
    "keeping.PremisesExport": "files made here",
    "axes.AccessAttempt": "of the moment",
    "axes.AccessAttemptExpiration": "of the moment",
    "axes.AccessFailureLog": "of the moment",
    "axes.AccessLog": "of the moment",
    "sessions.Session": "of the moment",
    "auth.Group": _INSTALLATION,
    "auth.Group_permissions": _INSTALLATION,
    "auth.Permission": _INSTALLATION,
    "contenttypes.ContentType": _INSTALLATION,
    "checks.SweepRun": _INSTALLATION,
    "plan.LibraryBlock": "published reference data, loaded by each installation",
    "plan.LibraryDocument": "published reference data, loaded by each installation",
    "plan.LibraryHazard": "published reference data, loaded by each installation",
    "plan.LibraryLoad": "published reference data, loaded by each installation",
    "plan.LibraryValue": "published reference data, loaded by each installation",
}
# Fields that hold a secret or an address of this installation: they leave empty.
BLANKED: dict[str, frozenset[str]] = {
    "premises.User": frozenset({"password", "last_login"}),
    "notices.PushDevice": frozenset({"endpoint", "p256dh", "auth"}),
}
# A frozen parent takes no children: it comes in after them, while the database has yet to look at references.
AFTER_THEIR_PARTS = ("plan.PlanRevision", "making.Procedure")


def tables() -> tuple[str, ...]:
    """Labels of all that is taken along, in the order in which they may be inserted."""
    plain = sorted(label for label in OF_PREMISES if label not in AFTER_THEIR_PARTS)
    return (*SHARED, *sorted(OF_LOG), *plain, *AFTER_THEIR_PARTS)


def model_of(label: str) -> type[Model]:
    """Errors: LookupError for a label that is not known here."""
    app, name = label.split(".")
    return apps.get_model(app, name)


def columns_of(model: type[Model]) -> "list[Field[object, object]]":
    """All columns but a key that the database counts by itself: such rows are named by nothing."""
    return [field for field in model._meta.local_fields if not _is_counted(field)]


def _is_counted(field: "Field[object, object]") -> bool:
    return field.primary_key and field.get_internal_type() in ("AutoField", "BigAutoField")


def rows_of(label: str, premises: Premises, people: Mapping[str, None]) -> QuerySet[Model]:
    """All rows of a table that belong to a premises. people: ids of everybody whom the rows before named."""
    model = model_of(label)
    rows = model._base_manager.all()
    if label == "premises.User":
        return rows.filter(pk__in=list(people)).order_by("pk")
    if label == "premises.Producer":
        return rows.filter(pk=premises.producer_id)
    if label in OF_LOG:
        order = {"ledger.Entry": "index", "ledger.SignedHead": "size"}.get(label, "pk")
        return rows.filter(**{OF_LOG[label]: premises.log_id}).order_by(order)
    return rows.filter(**{OF_PREMISES[label]: premises.pk}).order_by("pk")


def names_people(model: type[Model]) -> list[str]:
    """Columns that hold the id of a person."""
    return [f.attname for f in columns_of(model) if isinstance(f, ForeignKey) and f.related_model is User]

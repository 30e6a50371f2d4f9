"""What the ledger says of cleaning and swabs: made alike for sealing and for verifying."""

from collections.abc import Callable, Mapping
from typing import Any

from django.db.models import QuerySet

from batches.hygiene.models import (
    Chemical,
    ChemicalLot,
    Cleaning,
    CleaningLot,
    Method,
    MethodChemical,
    Rota,
    Swab,
    SwabPoint,
    SwabResult,
    SwabSent,
    UncleanUse,
)
from haccp.ledger.sealed_rows import register_rows

Body = Mapping[str, object]


def chemical_body(row: Chemical) -> Body:
    return {"name": row.name, "active": row.active, "purpose": row.purpose}


def chemical_lot_body(row: ChemicalLot) -> Body:
    return {
        "chemical": row.chemical_id,
        "code": row.code,
        "expires": row.expires_on,
        "recorded": row.recorded_at,
        "by": row.recorded_by_id,
    }


def method_body(row: Method) -> Body:
    chemicals = MethodChemical.objects.filter(method=row).values_list("chemical_id", flat=True)
    return {
        "place": row.place_id,
        "name": row.name,
        "check": row.check_key,
        "before_use": row.before_use,
        "keeps_clean_s": row.keeps_clean_s,
        "replaces": row.replaces_id,
        "ends": row.ends_cleaning_by,
        "chemicals": sorted(str(one) for one in chemicals),
        "steps": [[step.position, step.kind, step.text] for step in row.steps.all()],
        "recorded": row.recorded_at,
        "by": row.recorded_by_id,
    }


def cleaning_body(row: Cleaning) -> Body:
    lots = CleaningLot.objects.filter(cleaning=row).values_list("lot_id", flat=True)
    return {"method": row.method_id, "lots": sorted(str(one) for one in lots)}


def unclean_body(row: UncleanUse) -> Body:
    return {"place": row.place_id, "why": row.why_unclean}


def point_body(row: SwabPoint) -> Body:
    return {
        "place": row.place_id,
        "name": row.name,
        "zone": row.zone,
        "recorded": row.recorded_at,
        "by": row.recorded_by_id,
    }


def rota_body(row: Rota) -> Body:
    return {
        "zone": row.zone,
        "first": row.first_on,
        "every_days": row.every_days,
        "at_once": row.at_once,
        "control_point": row.control_point_code,
        "replaces": row.replaces_id,
        "recorded": row.recorded_at,
        "by": row.recorded_by_id,
    }


def swab_body(row: Swab) -> Body:
    return {
        "point": row.point_id,
        "code": row.code,
        "taken": row.taken_at,
        "recorded": row.recorded_at,
        "by": row.recorded_by_id,
    }


def sent_body(row: SwabSent) -> Body:
    return {"test": row.test_id}


def result_body(row: SwabResult) -> Body:
    return {
        "swab": row.swab_id,
        "found": row.found,
        "laboratory": row.laboratory,
        "report": row.report,
        "reported": row.reported_on,
        "deviation": row.deviation_id,
        "replaces": row.replaces_id,
        "replace_reason": row.replace_reason,
        "recorded": row.recorded_at,
        "by": row.recorded_by_id,
    }


# Kind of entry, prefix of its subject, rows, body, lookup of the log.
_ROWS: tuple[tuple[str, str, Any, Any, str], ...] = (
    ("hygiene.chemical", "chemical", Chemical, chemical_body, "premises"),
    ("hygiene.chemical_lot", "chemical_lot", ChemicalLot, chemical_lot_body, "chemical__premises"),
    ("hygiene.method", "cleaning_method", Method, method_body, "place__premises"),
    ("hygiene.cleaning", "cleaning", Cleaning, cleaning_body, "record__premises"),
    ("hygiene.unclean_use", "unclean_use", UncleanUse, unclean_body, "place__premises"),
    ("hygiene.swab_point", "swab_point", SwabPoint, point_body, "place__premises"),
    ("hygiene.rota", "rota", Rota, rota_body, "premises"),
    ("hygiene.swab", "swab", Swab, swab_body, "point__place__premises"),
    ("hygiene.swab_sent", "swab_sent", SwabSent, sent_body, "swab__point__place__premises"),
    ("hygiene.swab_result", "swab_result", SwabResult, result_body, "swab__point__place__premises"),
)
KINDS: dict[type, tuple[str, str, Any]] = {model: (kind, prefix, body) for kind, prefix, model, body, _ in _ROWS}


def _rows_of(model: Any) -> Callable[[], QuerySet[Any]]:
    def rows() -> QuerySet[Any]:
        found: QuerySet[Any] = model._default_manager.all()
        return found

    return rows


def register() -> None:
    for kind, prefix, model, body, owner in _ROWS:
        register_rows(kind, prefix=prefix, rows=_rows_of(model), body=body, log_key=f"{owner}__log__key")

"""What the log says of places and instruments: how each stood after a change, with who made it and when."""

import datetime as dt

from haccp.ledger import actions as ledger
from haccp.ledger.canonical import sha256_of
from haccp.premises.models import Instrument, Place
from haccp.premises.scope import Scope


def place_body(place: Place) -> dict[str, object]:
    return {
        "name": place.name,
        "kind": place.kind,
        "walking_order": place.walking_order,
        "retired": place.retired_at,
    }


def instrument_body(instrument: Instrument) -> dict[str, object]:
    return {
        "name": instrument.name,
        "kind": instrument.kind,
        "serial": instrument.serial,
        "place": instrument.place_id,
        "expanded_uncertainty": instrument.expanded_uncertainty,
        "uncertainty_typed": instrument.uncertainty_typed,
        "calibrated_on": instrument.calibrated_on,
        "calibration_valid_until": instrument.calibration_valid_until,
        "retired": instrument.retired_at,
    }


def body_of(row: Place | Instrument) -> dict[str, object]:
    return place_body(row) if isinstance(row, Place) else instrument_body(row)


def seen_sha256(row: Place | Instrument) -> str:
    """Of the row as a page shows it, so that a change made meanwhile is noticed."""
    return sha256_of(body_of(row))


def seal_change(scope: Scope, row: Place | Instrument, what: str, at: dt.datetime) -> None:
    """what: added, changed, retired, restored."""
    name = "place" if isinstance(row, Place) else "instrument"
    ledger.seal(
        log_id=scope.log_id,
        kind=f"{name}.{what}",
        subject=f"{name}:{row.pk}",
        body=body_of(row),
        actor=scope.actor,
        at=at,
    )

"""Every write about a dairy, its people and devices, its places and instruments."""

from haccp.premises.actions.instruments import (
    instrument_add,
    instrument_change,
    instrument_restore,
    instrument_retire,
)
from haccp.premises.actions.people import (
    confirm_identity,
    device_add,
    device_revoke,
    person_add,
    preferences_set,
    premises_add,
    premises_change,
    premises_open,
)
from haccp.premises.actions.places import place_add, place_change, place_move, place_restore, place_retire

__all__ = [
    "confirm_identity",
    "device_add",
    "device_revoke",
    "instrument_add",
    "instrument_change",
    "instrument_restore",
    "instrument_retire",
    "person_add",
    "place_add",
    "place_change",
    "place_move",
    "place_restore",
    "place_retire",
    "preferences_set",
    "premises_add",
    "premises_change",
    "premises_open",
]

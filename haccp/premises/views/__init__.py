"""Pages about the dairy: signing in, devices, what belongs to the person, places and instruments."""

from haccp.premises.views.dairy import dairy, details
from haccp.premises.views.instruments import instrument_add, instrument_change, instrument_restore, instrument_retire
from haccp.premises.views.people import SignIn, choose, device_revoke, devices, preferences, sign_in, sign_out
from haccp.premises.views.places import place_add, place_change, place_move, place_restore, place_retire

__all__ = [
    "SignIn",
    "choose",
    "dairy",
    "details",
    "device_revoke",
    "devices",
    "instrument_add",
    "instrument_change",
    "instrument_restore",
    "instrument_retire",
    "place_add",
    "place_change",
    "place_move",
    "place_restore",
    "place_retire",
    "preferences",
    "sign_in",
    "sign_out",
]

"""Pages about rooms and what is in them."""

from batches.ripening.views.care import care_for_batch, care_for_room, rhythms, weigh
from batches.ripening.views.climate import logger_confirm, logger_upload, read, year
from batches.ripening.views.growth import growth
from batches.ripening.views.rooms import place, room, room_list

__all__ = [
    "care_for_batch",
    "care_for_room",
    "growth",
    "logger_confirm",
    "logger_upload",
    "place",
    "read",
    "rhythms",
    "room",
    "room_list",
    "weigh",
    "year",
]

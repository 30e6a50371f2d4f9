"""The events of a lot, in the trade's words."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class EventKind(models.TextChoices):
    MILK_RECEIVED = "milk_received", _("milk received")
    MAKE_STARTED = "make_started", _("make started")
    STARTER_ADDED = "starter_added", _("starter added")
    RENNET_ADDED = "rennet_added", _("rennet added")
    CUT = "cut", _("curd cut")
    DRAINED = "drained", _("whey drained")
    MOULDED = "moulded", _("moulded")
    PRESSED = "pressed", _("pressed")
    SALTED = "salted", _("salted")
    LAID_IN_BRINE = "laid_in_brine", _("laid in brine")
    PLACED_IN_ROOM = "placed_in_room", _("placed in room")
    LEFT_ROOM = "left_room", _("left room")
    EQUIPMENT_USED = "equipment_used", _("equipment used")


# What takes a place or a piece of equipment into use; the event names it as its place.
USES = (EventKind.MAKE_STARTED, EventKind.EQUIPMENT_USED)

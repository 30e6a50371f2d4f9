"""Which checks are due when: cadences as data, and the slots that follow from them."""

from haccp.science.schedule.cadence import Cadence, check_cadence
from haccp.science.schedule.due import Slot, slots
from haccp.science.schedule.words import describe

__all__ = ["Cadence", "Slot", "check_cadence", "describe", "slots"]

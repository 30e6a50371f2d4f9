"""Which checks are due when: cadences as data, and the slots that follow from them."""

from haccp.science.schedule.cadence import Cadence, check_cadence
from haccp.science.schedule.due import USE, Slot, slots
from haccp.science.schedule.words import describe

__all__ = ["USE", "Cadence", "Slot", "check_cadence", "describe", "slots"]

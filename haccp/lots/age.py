"""How old a lot is, as the trade counts it: days of the calendar at the dairy, the day it began being day 0."""

from datetime import datetime

from haccp.lots.models import Lot
from haccp.premises.models import Premises


def age_in_days(premises: Premises, lot: Lot, at: datetime) -> int:
    return (premises.local_date(at) - premises.local_date(lot.begun_at)).days

"""What a check of the plan is about when it is about a lot."""

from haccp.lots.models import Lot
from haccp.plan.models import Check

# A lot of any other kind is the subject of no check.
SUBJECT_OF_KIND = {Lot.Kind.MILK: Check.Subject.MILK, Lot.Kind.BATCH: Check.Subject.BATCH}

"""Who was trained in what: one of it ends soon."""

from datetime import datetime, timedelta

from haccp.config.demo.dairy import Dairy
from haccp.training.actions import training_record

COURSE = "Rushfield College (invented)"


def add_trainings(dairy: Dairy, now: datetime) -> None:
    """As of today; written down now."""
    staff = dairy.staff
    given = (
        (staff.owner, "HACCP", COURSE, 900, None),
        (staff.maker, "Food hygiene", COURSE, 710, 730),
        (staff.maker, "The vat pasteuriser and its recorder", staff.owner.user.name, 400, None),
        (staff.helper, "Food hygiene", COURSE, 200, 730),
        (staff.helper, "Cleaning of the vats", staff.maker.user.name, 190, None),
    )
    for n, (who, subject, by, days_ago, counts_days) in enumerate(given):
        given_on = dairy.today - timedelta(days=days_ago)
        training_record(
            scope=staff.owner,
            training_id=dairy.new_id("training", n),
            person_id=who.user.pk,
            subject=subject,
            given_by=by,
            given_on=given_on,
            valid_until=given_on + timedelta(days=counts_days) if counts_days else None,
            now=now,
        )

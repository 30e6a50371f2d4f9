"""Clean equipment, and the checks that the plan asks for before release."""

from collections.abc import Sequence
from datetime import datetime

from batches.hygiene.lot_uses import uses_of
from batches.release.points import Link, Matter, Point, met, outstanding
from haccp.checks.before_release import checks_before_release
from haccp.lots.models import Lot
from haccp.premises.scope import Scope


def cleaning(scope: Scope, lots: Sequence[Lot], at: datetime) -> Sequence[Point]:
    """What was used though it was not clean opened a deviation, which tells of it; here it is said once."""
    uses = [use for use in uses_of(lots[:1]) if use.used_at <= at]
    unclean = sorted({use.place.name for use in uses if use.deviation_id is not None})
    clean = sorted({use.place.name for use in uses} - set(unclean))
    return [met(Matter.CLEANING, f"{', '.join(clean)}: clean when taken into use.")] if clean else []


def before_release(scope: Scope, lots: Sequence[Lot], at: datetime) -> Sequence[Point]:
    """Each check that is to be done before a release."""
    points = []
    for one in checks_before_release(lots[:1]):
        link = Link("checks:before_release", "Do it", one.lot.pk)
        if one.record is None:
            points.append(outstanding(Matter.CHECK, f"{one.check.name}: to be done before release.", link))
        elif not one.is_met:
            link = Link("checks:record", "Open the record", one.record.pk)
            points.append(outstanding(Matter.CHECK, f"{one.check.name}: done, and its limits are not met.", link))
        else:
            link = Link("checks:record", "Open the record", one.record.pk)
            points.append(met(Matter.CHECK, f"{one.check.name}: done before release and met.", link))
    return points

"""What follows from a result that fails: a deviation, and a hold on every lot that it implicates."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from batches.laboratory.models import Sample, SampleTest, TestResult
from haccp.deviations.actions import deviation_open
from haccp.deviations.implication import Implication, implicated_by_name, with_what_was_made
from haccp.deviations.models import Deviation
from haccp.lots.queries import brines_in, in_place_between
from haccp.premises.scope import Scope
from haccp.science.ruling import Ruling


def open_for_result(scope: Scope, result: TestResult, *, deviation_id: UUID, at: datetime) -> Deviation | None:
    """None where the result does not fail, and where an earlier version of it stands open already.

    A result that only leaves its verdict open (a unit is missing, “<” above m) opens none: nothing was found yet, and
    until it is complete the lot waits for it.
    """
    if result.ruling != Ruling.BREACHED or _is_open_already(result):
        return None
    sample = result.test.sample
    return deviation_open(
        scope=scope,
        deviation_id=deviation_id,
        control_point=sample.verifies,
        summary=f"{result.test.parameter} in {sample.of} (sample {sample.code}, {sample.laboratory}): {result.reason}",
        occurred_at=sample.taken_at,
        implication=_implicated(scope, sample, result.test, at),
        holds=sample.lot_id is not None or sample.verifies.is_critical,
        cause=Deviation.Cause.LABORATORY,
        at=at,
    )


def _is_open_already(result: TestResult) -> bool:
    earlier = result.replaces
    while earlier is not None:
        if earlier.deviation is not None and not hasattr(earlier.deviation, "closure"):
            return True
        earlier = earlier.replaces
    return False


def _implicated(scope: Scope, sample: Sample, test: SampleTest, at: datetime) -> Implication:
    if sample.lot is not None:
        return implicated_by_name(scope.premises, [sample.lot], f"the laboratory (sample {sample.code})")
    assert sample.place is not None
    since = _last_good_at(sample, test)
    when = f"since {test.parameter} was last examined there and found good" if since else "before or since the sample"
    # What lives in a brine stays in it: the brine itself is touched, and with it all that ever lay there.
    inside = [*in_place_between(sample.place, since, at), *brines_in(sample.place, since, at)]
    return with_what_was_made(scope.premises, since, [(lot, f"was in {sample.place.name} {when}") for lot in inside])


def _last_good_at(sample: Sample, test: SampleTest) -> datetime | None:
    """When the same was last looked for in the same place, and the result was good."""
    good: Sequence[str] = (Ruling.MET, Ruling.CLOSE)
    return (
        TestResult.objects.filter(
            test__sample__place=sample.place_id,
            test__parameter=test.parameter,
            test__sample__taken_at__lt=sample.taken_at,
            ruling__in=good,
            replaced_by__isnull=True,
        )
        .order_by("-test__sample__taken_at")
        .values_list("test__sample__taken_at", flat=True)
        .first()
    )

"""What follows from a result that fails: a deviation, and a hold on every lot that it implicates."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from batches.laboratory.models import Sample, SampleTest, TestResult
from haccp.deviations.actions import deviation_open
from haccp.deviations.implication import Implication, Touched, implicated_by_name, touched_there
from haccp.deviations.models import Deviation
from haccp.lots.models import Lot
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
        implication=_implicated(sample, result.test, at),
        origin_unknown=_asks_where_from(sample, result.test),
        holds=sample.lot_id is not None or sample.verifies.is_critical,
        cause=Deviation.Cause.LABORATORY,
        at=at,
    )


def _asks_where_from(sample: Sample, test: SampleTest) -> bool:
    """A germ that must not be in a cheese, its milk or an ingredient came from somewhere; a count that is too high was
    left to grow, and a brine is itself what passes it on."""
    in_lot = sample.lot is not None and sample.lot.kind != Lot.Kind.BRINE
    return in_lot and test.kind == SampleTest.Kind.ABSENCE


def _is_open_already(result: TestResult) -> bool:
    earlier = result.replaces
    while earlier is not None:
        if earlier.deviation is not None and not hasattr(earlier.deviation, "closure"):
            return True
        earlier = earlier.replaces
    return False


def newcomers(deviation: Deviation, now: datetime) -> Sequence[Touched]:
    """What came by now to the place where something was found: it is found there until it is shown to be gone."""
    result = TestResult.objects.filter(deviation=deviation).select_related("test__sample__place", "test__sample__lot")
    found = result.first()
    if found is None or found.test.sample.lot_id is not None:
        return ()
    return _implicated(found.test.sample, found.test, _next_good_at(found.test.sample, found.test) or now).lots


def _implicated(sample: Sample, test: SampleTest, until: datetime) -> Implication:
    if sample.lot is not None:
        return implicated_by_name([sample.lot], f"the laboratory (sample {sample.code})")
    assert sample.place is not None
    since = _good(sample, test).filter(test__sample__taken_at__lt=sample.taken_at).last()
    when = f"since {test.parameter} was last examined there and found good" if since else "before or since the sample"
    # What lives in a brine stays in it: the brine itself is touched, and with it all that lay there since.
    inside = [*in_place_between(sample.place, since, until), *brines_in(sample.place, since, until)]
    touched = tuple(touched_there(inside, f"was in {sample.place.name} {when}", since))
    return Implication(since, touched, travels=True)


def _next_good_at(sample: Sample, test: SampleTest) -> datetime | None:
    return _good(sample, test).filter(test__sample__taken_at__gt=sample.taken_at).first()


def _good(sample: Sample, test: SampleTest) -> QuerySet[TestResult, datetime]:
    """When the same was looked for in the same place and the result was good, in order."""
    good: Sequence[str] = (Ruling.MET, Ruling.CLOSE)
    return (
        TestResult.objects.filter(
            test__sample__place=sample.place_id,
            test__parameter=test.parameter,
            ruling__in=good,
            replaced_by__isnull=True,
        )
        .order_by("test__sample__taken_at")
        .values_list("test__sample__taken_at", flat=True)
    )

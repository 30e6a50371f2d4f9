"""What shows that control worked, as far as a document speaks of it: samples, calibrations, people."""

from uuid import UUID

from django.db.models import Q, QuerySet

from batches.laboratory.models import Sample
from haccp.calibration.models import Calibration
from haccp.checks.models import Record
from haccp.premises.models import Membership
from haccp.reports.gather.scope import PackScope, in_groups


def samples_in(scope: PackScope) -> QuerySet[Sample]:
    """Taken in the period; of chosen lots whenever they were taken."""
    period, choice = scope.period, scope.choice
    found = Sample.objects.filter(premises=period.premises_id)
    inside = Q(taken_at__gte=period.start, taken_at__lt=period.end)
    if choice.is_whole:
        return found.filter(inside)
    if choice.of_lots:
        return found.filter(lot__in=[*scope.batch_ids, *scope.milk_ids])
    return found.filter(inside, verifies__code=choice.point) if choice.point else found.none()


def calibrations_in(scope: PackScope) -> QuerySet[Calibration]:
    """In the period; of a part of the records those of its instruments."""
    period = scope.period
    found = Calibration.objects.filter(
        premises=period.premises_id, performed_at__gte=period.start, performed_at__lt=period.end
    )
    if scope.choice.is_whole:
        return found
    used: set[UUID | None] = set()
    for group in in_groups(scope.record_ids):
        used |= set(Record.objects.filter(id__in=group, instrument__isnull=False).values_list("instrument", flat=True))
    return found.filter(instrument__in=used)


def members_in(scope: PackScope) -> QuerySet[Membership]:
    """Whoever had a role here at some time of the period."""
    period = scope.period
    here = Membership.objects.filter(premises=period.premises_id, since__lt=period.end)
    return here.filter(Q(left_at__isnull=True) | Q(left_at__gte=period.start))

"""A limit together with the measures that are judged by it."""

import dataclasses
from collections.abc import Collection

from django.db import transaction

from haccp.plan.actions.parts import Seen, part_add, part_change
from haccp.plan.document.parts import CriticalLimit
from haccp.plan.models import PlanRevision
from haccp.plan.rows import read_plan
from haccp.premises.scope import Scope


@transaction.atomic
def limit_save(
    *,
    scope: Scope,
    revision: PlanRevision,
    limit: CriticalLimit,
    measures: Collection[str],
    new: bool,
    seen: Seen | None = None,
) -> CriticalLimit:
    """Adds or changes a limit, and has exactly the measures named judged by it. Raises as part_add and part_change.

    Measures that no longer fit are let go first, so that a limit can change its quantity together with them.
    """
    before = read_plan(revision)
    for measure in before.measures:
        if limit.key in measure.limits and measure.key not in measures:
            left = tuple(key for key in measure.limits if key != limit.key)
            part_change(scope=scope, revision=revision, part=dataclasses.replace(measure, limits=left))
    if new:
        part_add(scope=scope, revision=revision, part=limit)
    else:
        part_change(scope=scope, revision=revision, part=limit, seen=seen)
    for measure in before.measures:
        if measure.key in measures and limit.key not in measure.limits:
            more = tuple(sorted((*measure.limits, limit.key)))
            part_change(scope=scope, revision=revision, part=dataclasses.replace(measure, limits=more))
    return limit

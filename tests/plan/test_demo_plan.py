"""The demo dairy's plan, as the findings see it."""

from datetime import UTC, datetime

import pytest

from haccp.config.demo.people import open_with_people
from haccp.config.demo.places import add_instruments, add_places
from haccp.config.demo.plan import add_products, approve_first
from haccp.plan.models import PlanRevision
from haccp.plan.queries import findings_of

pytestmark = pytest.mark.django_db
AT = datetime(2026, 3, 1, 6, 0, tzinfo=UTC)


def test_the_demo_s_plan_is_a_model_of_one() -> None:
    staff = open_with_people(AT)
    places = add_places(staff.owner, AT)
    add_instruments(staff.owner, places, AT.date(), AT)
    approve_first(staff.owner, add_products(staff.owner, AT), places, effective_from=AT, at=AT)

    assert [finding.sentence for finding in findings_of(PlanRevision.objects.get(), AT)] == []

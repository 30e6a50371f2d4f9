"""The plan's two revisions: the first, and the one that a slow make led to."""

from dataclasses import dataclass
from datetime import date, datetime

from haccp.config.demo.local_days import local_day
from haccp.config.demo.people import OWNER
from haccp.config.demo.places import Places
from haccp.config.demo.plan.critical import critical_points
from haccp.config.demo.plan.descriptions import descriptions
from haccp.config.demo.plan.flow import add_flow
from haccp.config.demo.plan.hazards import add_hazards
from haccp.config.demo.plan.prerequisites import prerequisite_points
from haccp.config.demo.plan.products import Products
from haccp.config.demo.plan.whole import parts_around, parts_of_the_flow
from haccp.plan import actions as plan
from haccp.plan.models import PlanRevision
from haccp.premises.scope import Scope

SCOPE = (
    "Rushfield Ewe, Little Catkin and Alder Square, from the milk of our own ewes and cows and of one neighbour's "
    "goats to dispatch; sold whole and cut, to people of all ages. Raw milk is stated on the label of Rushfield Ewe; "
    "we advise against it for small children and in pregnancy."
)


@dataclass(frozen=True, slots=True)
class _Content:
    change: str
    hard_ph: float
    with_ice_point: bool


_FIRST = _Content("First plan of the dairy, drawn up by Nuala and Tomás.", 5.60, with_ice_point=False)
_SECOND = _Content(
    "After the slow make of Rushfield Ewe: its pH limit is lowered from 5.60 to 5.50, and the thermometer is checked "
    "in melting ice each week.",
    5.50,
    with_ice_point=True,
)


def approve_first(owner: Scope, products: Products, places: Places, *, effective_from: datetime, at: datetime) -> None:
    _approve(owner, products, places, _FIRST, effective_from, at)


def approve_second(owner: Scope, products: Products, places: Places, *, effective_from: datetime, at: datetime) -> None:
    """What the first had planned past effective_from, and nobody has done, is taken back and planned anew."""
    _approve(owner, products, places, _SECOND, effective_from, at)


def _approve(
    owner: Scope, products: Products, places: Places, content: _Content, effective_from: datetime, at: datetime
) -> PlanRevision:
    since: date = local_day(effective_from)
    revision = plan.revision_draft(scope=owner, scope_statement=SCOPE, change_summary=content.change, at=at)
    flow = add_flow(owner, revision, products)
    plan.parts_add(scope=owner, revision=revision, parts=descriptions(products))
    plan.parts_add(scope=owner, revision=revision, parts=list(parts_of_the_flow(flow)))
    hazards = add_hazards(owner, revision, flow)
    for draft in [
        *critical_points(products, flow, hazards, content.hard_ph),
        *prerequisite_points(places, flow, hazards, since, with_ice_point=content.with_ice_point),
    ]:
        plan.control_point_add(scope=owner, revision=revision, draft=draft)
    plan.parts_add(scope=owner, revision=revision, parts=list(parts_around(revision, flow, hazards, since)))
    plan.revision_change(
        scope=owner,
        revision=revision,
        scope_statement=SCOPE,
        change_summary=content.change,
        significant_from=6,
        always_significant_severity=5,
        review_every_months=12,
    )
    plan.flow_confirm(
        scope=owner,
        revision=revision,
        confirmed_on=owner.premises.local_date(at),
        password=OWNER.password,
        at=at,
        note="Walked with Tomás during a make of Rushfield Ewe.",
    )
    revision.refresh_from_db()
    return plan.revision_approve(
        scope=owner, revision=revision, effective_from=effective_from, password=OWNER.password, at=at
    )

"""What is set up beside the plan, as it stands on the day of the demo: cleaning methods, swabs, who does what, closing.

All of it is said on that day, so that the weeks before are as they were lived.
"""

from datetime import datetime, timedelta
from uuid import UUID

from batches.hygiene import actions as hygiene
from haccp.checks import actions as checks
from haccp.config.demo.dairy import Dairy
from haccp.config.demo.plan import names
from haccp.plan.queries import revision_in_force
from haccp.premises.models import Place

STEPS = (
    ("rinse", "Cold water until it runs clear."),
    ("wash", "Alkaline detergent, 55 °C, brushed; valve taken apart."),
    ("rinse", "Warm water."),
    ("sanitise", "Chlorine, 10 s at least, warmer than 13 °C; strip."),
    ("drain", "Valve open, lid off, to dry."),
)
POINTS = (("Valve of vat 1", "vat_1", 1), ("Shelf edge", "cellar", 2), ("Drain", "make_room", 3), ("Door", "cave", 3))


def add_upkeep(dairy: Dairy, now: datetime) -> None:
    owner = dairy.staff.owner
    revision = revision_in_force(dairy.premises, now)
    assert revision is not None
    keys = {check.name: UUID(check.key) for check in revision.checks.all()}
    chemicals = [
        hygiene.chemical_add(
            scope=owner, chemical_id=dairy.new_id("chemical", name), name=name, purpose=purpose, active=active, now=now
        )
        for name, purpose, active in (
            ("Blue alkaline", "alkaline", "sodium hydroxide"),
            ("Dairy chlorine", "sanitiser", "sodium hypochlorite"),
        )
    ]
    for chemical in chemicals:
        hygiene.chemical_lot_add(
            scope=dairy.staff.maker,
            lot_id=dairy.new_id("chemical lot", chemical.name),
            chemical_id=chemical.id,
            code=f"{chemical.name[:1]}-2291",
            expires_on=dairy.today + timedelta(days=210),
            now=now,
        )
    for name, place in ((names.VAT_1, dairy.places.vat_1), (names.VAT_2, dairy.places.vat_2)):
        hygiene.method_set(
            scope=owner,
            method_id=dairy.new_id("method", name),
            place_id=place.id,
            name="Wash after the make",
            check_key=keys[name],
            steps=[hygiene.StepTyped(kind, text) for kind, text in STEPS],
            chemical_ids=[one.id for one in chemicals],
            keeps_clean_s=3 * 86_400,
            now=now,
        )
    _add_swabs(dairy, now)
    checks.keeper_set(
        scope=owner,
        keeper_id=dairy.new_id("keeper"),
        check_id=revision.checks.get(name=names.CELLAR).id,
        membership_id=dairy.staff.helper.membership.pk,
        now=now,
    )
    checks.absence_add(
        scope=dairy.staff.helper,
        absence_id=dairy.new_id("absence"),
        membership_id=dairy.staff.helper.membership.pk,
        first=dairy.today + timedelta(days=9),
        last=dairy.today + timedelta(days=16),
        stand_in_id=dairy.staff.maker.membership.pk,
        note="With her sister",
        now=now,
    )
    checks.closed_period_add(
        scope=owner,
        period_id=dairy.new_id("closed"),
        without="milk",
        first=dairy.today + timedelta(days=40),
        last=dairy.today + timedelta(days=68),
        reason="The ewes are dry.",
        now=now,
    )


def _add_swabs(dairy: Dairy, now: datetime) -> None:
    owner = dairy.staff.owner
    for zone, every_days in ((1, 28), (2, 14), (3, 7)):
        hygiene.rota_set(
            scope=owner,
            rota_id=dairy.new_id("rota", zone),
            zone=zone,
            first_on=dairy.today - timedelta(days=3),
            every_days=every_days,
            at_once=1,
            control_point_code="PRP 3",
            now=now,
        )
    for number, (name, attribute, zone) in enumerate(POINTS):
        place: Place = getattr(dairy.places, attribute)
        point = hygiene.swab_point_add(
            scope=owner, point_id=dairy.new_id("point", name), place_id=place.id, name=name, zone=zone, now=now
        )
        if number in (0, 2):
            swab = hygiene.swab_take(
                scope=dairy.staff.maker,
                swab_id=dairy.new_id("swab", name),
                point_id=point.id,
                code=f"S-{number + 1:03d}",
                taken_at=now - timedelta(days=2),
                now=now,
            )
            if number == 0:
                hygiene.swab_result_add(
                    scope=dairy.staff.maker,
                    swab_id=swab.id,
                    found="nothing",
                    laboratory="Rushfield laboratory",
                    report="R-5513",
                    reported_on=dairy.today,
                    now=now,
                )

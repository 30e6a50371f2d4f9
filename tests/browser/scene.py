"""Run with the settings of a site: opens a dairy there, and prints what a visitor must know of it as JSON.

The first page of "evening" shows something late, something due, something for later and something just missed at
whatever hour it is opened: the dairy lies in the time zone where it is past nine in the evening now, and its plan has
its checks around that moment. "autumn" is a dairy in Paris whose plan reaches back before the clock was last put back.
"""

import json
import os
import sys
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "haccp.config.settings")
django.setup()

from haccp.lots.kinds import EventKind  # noqa: E402  (needs the apps)
from haccp.plan import actions as plan  # noqa: E402
from haccp.plan.document.parts import ProductDescription  # noqa: E402
from haccp.premises import actions as premises  # noqa: E402
from haccp.premises.models import Place  # noqa: E402
from haccp.premises.scope import Scope  # noqa: E402
from tests.browser.autumn import last_change_back  # noqa: E402
from tests.dairy import add_flow  # noqa: E402

PASSWORD = "tall reeds by the weir"
EVENING_H = 21
HOUR_S = 3600


def main(kind: str, name: str) -> None:
    now = datetime.now(UTC)
    zone = evening_zone(now) if kind == "evening" else "Europe/Paris"
    begin = now - timedelta(hours=8) if kind == "evening" else last_change_back() - timedelta(days=2)
    tag = name.split()[0].lower()
    owner = premises.premises_open(
        producer_name=name,
        name=name,
        time_zone=zone,
        jurisdiction="EU",
        owner_name=f"Orla of {name}",
        owner_email=f"owner@{tag}.example",
        owner_password=PASSWORD,
        at=begin,
    )
    premises.person_add(
        scope=owner,
        name=f"Milo of {name}",
        email=f"maker@{tag}.example",
        password=PASSWORD,
        role="maker",
        at=begin,
    )
    furnish(owner, now)
    plan.product_add(scope=owner, name="Reed Tomme", code="RT", species="ewe", treatment="pasteurised")
    revision = plan.revision_draft(
        scope=owner, scope_statement="Reed Tomme, from the milk to the ripe cheese.", change_summary="First.", at=begin
    )
    plan.hazard_add(
        scope=owner,
        revision=revision,
        step=add_flow(owner, revision)[0],
        kind="biological",
        name="Brucella melitensis",
        likelihood=1,
        severity=3,
        significant=False,
        justification="The flock is officially free of it, and the milk is pasteurised.",
        control_measure="Certificate of the flock, renewed each year.",
    )
    described = ProductDescription(product="RT", composition="Ewe's milk, starter, rennet, salt", herds_free="yes")
    plan.part_add(scope=owner, revision=revision, part=described)
    local = now.astimezone(ZoneInfo(zone))
    drafts = [milk(), heat(), acidity()] if kind == "autumn" else evening_plan(owner, local)
    for draft in drafts:
        plan.control_point_add(scope=owner, revision=revision, draft=draft)
    plan.revision_approve(scope=owner, revision=revision, effective_from=begin, password=PASSWORD, at=begin)
    said = {
        "time_zone": zone,
        "opened_at": now.isoformat(),
        "owner": f"owner@{tag}.example",
        "maker": f"maker@{tag}.example",
        "password": PASSWORD,
    }
    sys.stdout.write(json.dumps(said) + "\n")


def evening_zone(now: datetime) -> str:
    """A zone of whole hours in which the clock shows between 21:00 and 22:00; POSIX turns the sign round."""
    ahead = EVENING_H - now.hour
    ahead = ahead - 24 if ahead > 14 else ahead
    return f"Etc/GMT{-ahead:+d}"


def furnish(owner: Scope, now: datetime) -> None:
    places = (("Vat 1", "vat"), ("Room 1", "ripening_room"), ("Room 2", "ripening_room"))
    for order, (label, kind) in enumerate(places, start=1):
        premises.place_add(scope=owner, name=label, kind=kind, walking_order=order)
    instruments = (("Thermometer", "thermometer", 0.2), ("pH meter", "ph_meter", 0.04), ("Recorder", "recorder", 0.2))
    for label, kind, uncertainty in instruments:
        premises.instrument_add(
            scope=owner,
            name=label,
            kind=kind,
            expanded_uncertainty=uncertainty,
            calibrated_on=(now - timedelta(days=400)).date(),
            calibration_valid_until=(now + timedelta(days=300)).date(),
        )


def evening_plan(owner: Scope, now: datetime) -> list[plan.ControlPointDraft]:
    """Late, due, later and just missed, seen from now on the dairy's clock."""
    place = {one.name: one for one in Place.objects.filter(premises=owner.premises)}
    missed_at = now - timedelta(hours=2)
    grace_s = int((now - missed_at.replace(second=0, microsecond=0)).total_seconds())
    rooms = [
        room_check(place["Room 1"], clock(now - timedelta(minutes=40)), grace_s=3 * HOUR_S),
        room_check(place["Room 2"], clock(missed_at), grace_s=grace_s),
        room_check(place["Room 2"], clock(now + timedelta(hours=4)), grace_s=HOUR_S, round_name="at night"),
    ]
    cleaned = plan.CheckDraft(
        name="Vat 1 cleaned",
        subject="place",
        place=place["Vat 1"],
        cadence=clock(now + timedelta(minutes=40)),
        measures=[
            plan.MeasureDraft("Chlorine", "number", "concentration", "mg/L", limits=["chlorine"]),
            plan.MeasureDraft("Looks clean", "answer", choices=["yes", "no"]),
        ],
    )
    return [milk(), heat(), acidity(), room_point(rooms), cleaning(cleaned)]


def clock(due: datetime) -> dict[str, Any]:
    rule = f"FREQ=DAILY;BYHOUR={due.hour};BYMINUTE={due.minute};BYSECOND=0"
    return {"kind": "clock", "rrule": rule, "from": "2026-01-01"}


def after(event: str, *offsets_s: int) -> dict[str, Any]:
    return {"kind": "event", "event": event, "offsets_s": list(offsets_s)}


def milk() -> plan.ControlPointDraft:
    """10 °C on arrival: Regulation (EC) 853/2004, Annex III, section IX, chapter I, II.B, point 4 (from memory)."""
    limits = [
        limit("cold", "Milk at most 10 °C on arrival", high=10.0, comparator="at_most"),
        plan.LimitDraft(
            key="residues",
            statement="Residue test negative",
            quantity="answer",
            evaluator="answer",
            comparator="one_of",
            accepted=["negative"],
        ),
    ]
    check = plan.CheckDraft(
        name="Milk acceptance",
        subject="milk",
        cadence=after(EventKind.MILK_RECEIVED, 0),
        measures=[
            plan.MeasureDraft("Temperature", "number", "temperature", "°C", limits=["cold"]),
            plan.MeasureDraft("Residue test", "answer", choices=["negative", "positive"], limits=["residues"]),
        ],
        instrument_kind="thermometer",
        window_before_s=0,
        grace_s=9 * HOUR_S,
    )
    return point(
        "PRP 1", "Milk acceptance", "Refuse the milk and tell the supplier.", limits, [check], programme="suppliers"
    )


def heat() -> plan.ControlPointDraft:
    """63 °C for 30 min: Regulation (EC) 853/2004, Annex III, section IX, chapter II, part II."""
    hold = limit(
        "hold",
        "At least 63 °C for 30 min",
        low=63.0,
        comparator="at_least",
        evaluator="holding",
        parameters={"hold_s": 1800},
    )
    check = plan.CheckDraft(
        name="Heat treatment",
        subject="batch",
        cadence=after(EventKind.MAKE_STARTED, 0),
        measures=[plan.MeasureDraft("Recorder file", "recorder_file", "temperature", limits=["hold"])],
        instrument_kind="recorder",
        window_before_s=0,
        grace_s=9 * HOUR_S,
    )
    return point("CCP 1", "Pasteurisation", "Hold the milk; heat it again in full, or divert it.", [hold], [check])


def acidity() -> plan.ControlPointDraft:
    """pH 5.40 within six hours: a limit of this plan's own; that acid must come in time is common practice."""
    ph = limit(
        "ph",
        "pH at most 5.40 within 6 h of the starter",
        quantity="ph",
        unit="pH",
        high=5.40,
        comparator="at_most",
        evaluator="elapsed",
        parameters={"from_event": EventKind.STARTER_ADDED, "within_s": 6 * HOUR_S},
    )
    check = plan.CheckDraft(
        name="pH of the curd",
        subject="batch",
        cadence=after(EventKind.STARTER_ADDED, HOUR_S, 3 * HOUR_S, 5 * HOUR_S),
        measures=[plan.MeasureDraft("pH", "number", "ph", "pH", limits=["ph"])],
        instrument_kind="ph_meter",
        window_before_s=3 * HOUR_S // 2,
        grace_s=7 * HOUR_S,
    )
    return point("CCP 2", "Acidification", "Keep the batch apart; have it tested for staphylococci.", [ph], [check])


def room_check(place: Place, cadence: Mapping[str, Any], *, grace_s: int, round_name: str = "") -> plan.CheckDraft:
    return plan.CheckDraft(
        name=f"{place.name} temperature {round_name}".strip(),
        subject="place",
        place=place,
        cadence=cadence,
        measures=[plan.MeasureDraft("Top shelf", "number", "temperature", "°C", limits=["air"])],
        instrument_kind="thermometer",
        grace_s=grace_s,
    )


def room_point(checks: Sequence[plan.CheckDraft]) -> plan.ControlPointDraft:
    """8 to 14 °C: a limit of this plan's own, within common practice for a tomme."""
    air = limit(
        "air",
        "Air between 8 and 14 °C",
        low=8.0,
        high=14.0,
        target_low=9.0,
        target_high=13.0,
        comparator="between",
    )
    return point("CCP 3", "Ripening room", "Move the cheeses to the other room; find out since when.", [air], checks)


def cleaning(check: plan.CheckDraft) -> plan.ControlPointDraft:
    """100 mg/L chlorine at 13 °C or more for 10 s: FDA Food Code 4-501.114."""
    chlorine = limit(
        "chlorine",
        "Chlorine at least 100 mg/L",
        quantity="concentration",
        unit="mg/L",
        low=100.0,
        comparator="at_least",
    )
    return point("PRP 2", "Cleaning of the vat", "Clean again before use.", [chlorine], [check], programme="cleaning")


def limit(
    key: str,
    statement: str,
    *,
    quantity: str = "temperature",
    unit: str = "°C",
    evaluator: str = "reading",
    **more: Any,
) -> plan.LimitDraft:
    return plan.LimitDraft(key=key, statement=statement, quantity=quantity, unit=unit, evaluator=evaluator, **more)


def point(
    code: str,
    name: str,
    corrective_action: str,
    limits: Sequence[plan.LimitDraft],
    checks: Sequence[plan.CheckDraft],
    *,
    programme: str = "",
) -> plan.ControlPointDraft:
    return plan.ControlPointDraft(
        code=code,
        name=name,
        kind="prerequisite" if programme else "ccp",
        programme=programme,
        corrective_action=corrective_action,
        limits=limits,
        checks=checks,
    )


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])

"""The prerequisite programmes: milk, cleaning, rooms, pests, water, people, instruments, labels, closing.

Windows and graces meet, so that at every hour of day and night something is to be done (names.AROUND_THE_CLOCK).
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from haccp.config.demo.places import Places
from haccp.config.demo.plan import names
from haccp.config.demo.plan.flow import Flow
from haccp.config.demo.plan.hazards import Hazards
from haccp.lots.kinds import EventKind
from haccp.plan.actions import CheckDraft, ControlPointDraft, LimitDraft, MeasureDraft
from haccp.plan.models import Check, ControlPoint, Measure
from haccp.premises.models import Instrument, Place

HOUR = 3600
OWN = "Own practice"
EU_HYGIENE = "Regulation (EC) 853/2004"
YES_NO = ["yes", "no"]
Subject = Check.Subject


def prerequisite_points(
    places: Places, flow: Flow, hazards: Hazards, since: date, *, with_ice_point: bool
) -> list[ControlPointDraft]:
    """since: the day from which the clock counts. with_ice_point: the second revision adds that check."""
    programmes = [
        _milk(flow, hazards),
        _tank(places, since, flow, hazards),
        _cleaning(places, since, flow, hazards),
        _room("PRP 4", "Cellar climate", places.cellar, (8.0, 14.0), (80.0, 92.0), flow, hazards, since),
        _room("PRP 5", "Cave climate", places.cave, (10.0, 15.0), (88.0, 99.0), flow, hazards, since),
        _cold_store(places, since, flow, hazards),
        _walks(flow, hazards, since),
        _water(since),
        _people(since),
        _labels(flow, hazards, since),
        _closing(flow, hazards, since),
        _brine(places, since, flow, hazards),
        *_when_it_happens(),
    ]
    return [*programmes, _ice_point(since)] if with_ice_point else programmes


def _daily(since: date, *times: str) -> dict[str, Any]:
    """times: local, such as "07:00"; all with the same minutes."""
    hours = ",".join(str(int(time[:2])) for time in times)
    return _clock(since, f"FREQ=DAILY;BYHOUR={hours};BYMINUTE={int(times[0][3:])};BYSECOND=0")


def _weekly(since: date, days: str, time: str) -> dict[str, Any]:
    return _clock(since, f"FREQ=WEEKLY;BYDAY={days};BYHOUR={int(time[:2])};BYMINUTE={int(time[3:])};BYSECOND=0")


def _clock(since: date, rule: str) -> dict[str, Any]:
    return {"kind": "clock", "rrule": rule, "from": since.isoformat()}


def _programme(
    code: str,
    name: str,
    programme: str,
    corrective_action: str,
    limits: Sequence[LimitDraft],
    checks: Sequence[CheckDraft],
    **more: Any,
) -> ControlPointDraft:
    return ControlPointDraft(
        code=code,
        name=name,
        kind=ControlPoint.Kind.PREREQUISITE,
        programme=programme,
        corrective_action=corrective_action,
        limits=limits,
        checks=checks,
        **more,
    )


def _answered(key: str, statement: str, accepted: Sequence[str], document: str = OWN, clause: str = "") -> LimitDraft:
    return LimitDraft(
        key=key,
        statement=statement,
        quantity="answer",
        evaluator="answer",
        comparator="one_of",
        accepted=list(accepted),
        source_document=document,
        source_clause=clause,
    )


def _between(
    key: str, statement: str, quantity: str, bounds: tuple[float, float], targets: tuple[float, float], unit: str
) -> LimitDraft:
    return LimitDraft(
        key=key,
        statement=statement,
        quantity=quantity,
        evaluator="reading",
        comparator="between",
        low=bounds[0],
        high=bounds[1],
        target_low=targets[0],
        target_high=targets[1],
        unit=unit,
        source_document=OWN,
    )


def _at_most(
    key: str, statement: str, high: float, target: float | None, document: str = OWN, clause: str = ""
) -> LimitDraft:
    return LimitDraft(
        key=key,
        statement=statement,
        quantity="temperature",
        evaluator="reading",
        comparator="at_most",
        high=high,
        target_high=target,
        unit="°C",
        source_document=document,
        source_clause=clause,
    )


def _number(label: str, quantity: str, unit: str, *limits: str) -> MeasureDraft:
    return MeasureDraft(label, Measure.Kind.NUMBER, quantity, unit, limits=limits)


def _choice(label: str, choices: Sequence[str], *limits: str) -> MeasureDraft:
    return MeasureDraft(label, Measure.Kind.ANSWER, choices=choices, limits=limits)


def _place_check(
    name: str, place: Place, cadence: Mapping[str, Any], measures: Sequence[MeasureDraft], **more: Any
) -> CheckDraft:
    return CheckDraft(
        name=name, subject=Subject.PLACE, place=place, cadence=cadence, measures=measures, who="Everybody", **more
    )


def _dairy_check(name: str, cadence: Mapping[str, Any], measures: Sequence[MeasureDraft], **more: Any) -> CheckDraft:
    return CheckDraft(name=name, subject=Subject.PREMISES, cadence=cadence, measures=measures, who="Everybody", **more)


def _milk(flow: Flow, hazards: Hazards) -> ControlPointDraft:
    return _programme(
        "PRP 1",
        "Milk acceptance",
        "suppliers",
        "Refuse the milk, keep it apart, tell whoever milked. Milk with a positive residue test is not for people.",
        [
            _at_most(
                "arrival",
                "Milk at most 10 °C on arrival",
                10.0,
                8.0,
                EU_HYGIENE,
                "Annex III, section IX, chapter I, part II.B: 8 °C collected daily, 6 °C otherwise, 10 °C on arrival",
            ),
            _answered(
                "residues",
                "Residue test negative",
                ["negative"],
                EU_HYGIENE,
                "Annex III, section IX, chapter I, part III.4 (from memory)",
            ),
            _answered("clean", "Smell and filter clean", ["clean"]),
        ],
        [
            CheckDraft(
                name=names.MILK_ACCEPTANCE,
                how="Probe in the stirred milk; residue strip; look at the filter.",
                who="Whoever takes the milk in",
                subject=Subject.MILK,
                cadence={"kind": "event", "event": EventKind.MILK_RECEIVED, "offsets_s": [0]},
                measures=[
                    _number("Temperature", "temperature", "°C", "arrival"),
                    _choice("Residue test", ["negative", "positive"], "residues"),
                    _choice("Smell and filter", ["clean", "not clean"], "clean"),
                ],
                instrument_kind=Instrument.Kind.THERMOMETER,
                window_before_s=0,
                grace_s=2 * HOUR,
            )
        ],
        step=flow["milk"],
        hazards=[hazards["residues"], hazards["brucella"], hazards["raw_stec"]],
    )


def _tank(places: Places, since: date, flow: Flow, hazards: Hazards) -> ControlPointDraft:
    return _programme(
        "PRP 2",
        "Milk storage",
        "cooling",
        "Use the milk at once for the lactic cheese if below 10 °C, else discard it. Call the cooling engineer.",
        [
            _at_most(
                "tank",
                "Stored milk at most 6 °C",
                6.0,
                5.0,
                EU_HYGIENE,
                "Annex III, section IX, chapter I, part II.B: 6 °C where it is not collected daily",
            )
        ],
        [
            _place_check(
                names.TANK,
                places.tank,
                _daily(since, "06:30"),
                [_number("Milk", "temperature", "°C", "tank")],
                how="Read between the evening milk and the first make.",
                instrument_kind=Instrument.Kind.THERMOMETER,
                window_before_s=10 * HOUR,
                rests=Check.Rests.WITHOUT_MILK,
                grace_s=2 * HOUR,
            )
        ],
        step=flow["store"],
        hazards=[hazards["store_growth"]],
    )


def _cleaning(places: Places, since: date, flow: Flow, hazards: Hazards) -> ControlPointDraft:
    """The Union names no figures; the table is that of the FDA Food Code 4-501.114, taken as our own practice."""

    def vat(name: str, place: Place) -> CheckDraft:
        return _place_check(
            name,
            place,
            _weekly(since, "MO,TU,WE,TH,FR,SA", "17:30"),
            [
                _number("Free chlorine", "concentration", "mg/L", "chlorine"),
                _number("Solution", "temperature", "°C", "warm"),
                _choice("Rinsed and looks clean", YES_NO, "clean"),
            ],
            how="Rinse, alkaline wash, rinse, chlorine for at least 10 s, drain; strip for the chlorine.",
            instrument_kind=Instrument.Kind.THERMOMETER,
            window_before_s=5 * HOUR,
            grace_s=3 * HOUR,
        )

    table = "4-501.114 (taken as our own practice)"
    return _programme(
        "PRP 3",
        "Cleaning of the vats",
        "cleaning",
        "Clean again before the vat is used. If it was used: report a deviation and name the batch.",
        [
            LimitDraft(
                key="chlorine",
                statement="Free chlorine at least 100 mg/L",
                quantity="concentration",
                evaluator="reading",
                comparator="at_least",
                low=100.0,
                target_low=120.0,
                unit="mg/L",
                source_document="FDA Food Code",
                source_clause=table,
            ),
            LimitDraft(
                key="warm",
                statement="Chlorine solution at least 13 °C",
                quantity="temperature",
                evaluator="reading",
                comparator="at_least",
                low=13.0,
                unit="°C",
                source_document="FDA Food Code",
                source_clause=table,
            ),
            _answered("clean", "Rinsed and looks clean", ["yes"]),
        ],
        [vat(names.VAT_1, places.vat_1), vat(names.VAT_2, places.vat_2)],
        step=flow["set"],
        hazards=[hazards["cleaning_agents"]],
    )


def _room(
    code: str,
    name: str,
    place: Place,
    air: tuple[float, float],
    damp: tuple[float, float],
    flow: Flow,
    hazards: Hazards,
    since: date,
) -> ControlPointDraft:
    is_cellar = place.name == "Cellar"
    return _programme(
        code,
        name,
        "ripening rooms",
        "Find out since when. Shut the door, look at the cooling; move the cheeses if it lasts longer than 12 h.",
        [
            _between(
                "air",
                f"Air between {air[0]:.0f} and {air[1]:.0f} °C",
                "temperature",
                air,
                (air[0] + 1.0, air[1] - 1.0),
                "°C",
            ),
            _between(
                "damp",
                f"Humidity between {damp[0]:.0f} and {damp[1]:.0f} %",
                "relative_humidity",
                damp,
                (damp[0] + 2.0, damp[1] - 2.0),
                "%",
            ),
        ],
        [
            _place_check(
                names.CELLAR if is_cellar else names.CAVE,
                place,
                _daily(since, "07:00", "13:00", "19:00"),
                [
                    _number("Top shelf", "temperature", "°C", "air"),
                    _number("Bottom shelf", "temperature", "°C", "air"),
                ],
                instrument_kind=Instrument.Kind.THERMOMETER,
                how="Probe hung among the cheeses for a minute on the top and on the bottom shelf.",
                window_before_s=3 * HOUR,
                grace_s=3 * HOUR + 1800,
            ),
            _place_check(
                names.CELLAR_HUMIDITY if is_cellar else names.CAVE_HUMIDITY,
                place,
                _daily(since, "13:00"),
                [_number("Humidity", "relative_humidity", "%", "damp")],
                instrument_kind=Instrument.Kind.HYGROMETER,
                how="Read in the middle of the room, the door shut for ten minutes.",
                window_before_s=4 * HOUR,
                grace_s=6 * HOUR,
            ),
        ],
        step=flow["ripen"],
        hazards=[hazards["listeria_ripening"]],
    )


def _brine(places: Places, since: date, flow: Flow, hazards: Hazards) -> ControlPointDraft:
    return _programme(
        "PRP 18",
        "Brine",
        "brining",
        "Cool it and add salt before anything more is laid in. Where a germ was found: lay nothing in, keep apart what "
        "lay in it, boil the brine or pour it away, scrub and disinfect the tank, have brine and tank examined again.",
        [
            _at_most("cool", "Brine at most 14 °C", 14.0, 13.0),
            _between("strong", "Salt between 16 and 22 %", "salt", (16.0, 22.0), (17.0, 21.0), "%"),
            _answered("skimmed", "Skimmed and clear", ["yes"]),
        ],
        [
            _place_check(
                names.BRINE,
                places.brine_tank,
                _daily(since, "09:00"),
                [
                    _number("Temperature", "temperature", "°C", "cool"),
                    _number("Salt", "salt", "%", "strong"),
                    _choice("Skimmed and clear", YES_NO, "skimmed"),
                ],
                instrument_kind=Instrument.Kind.THERMOMETER,
                how="Skim, stir, read the thermometer and the salt float.",
                window_before_s=3 * HOUR,
                grace_s=5 * HOUR,
            )
        ],
        step=flow["salt"],
        hazards=[hazards["brine"]],
    )


def _cold_store(places: Places, since: date, flow: Flow, hazards: Hazards) -> ControlPointDraft:
    return _programme(
        "PRP 6",
        "Cold store",
        "cooling",
        "Move the cheese to the dispatch fridge; ask how long it was warm before anything leaves.",
        [_at_most("cold", "Cold store at most 8 °C", 8.0, 6.5)],
        [
            _place_check(
                names.COLD_STORE,
                places.cold_store,
                _daily(since, "16:00"),
                [_number("Warmest corner", "temperature", "°C", "cold")],
                instrument_kind=Instrument.Kind.THERMOMETER,
                how="Probe in the warmest corner, by the door, for a minute.",
                window_before_s=3 * HOUR + 1800,
                grace_s=4 * HOUR,
            )
        ],
        step=flow["dispatch"],
        hazards=[hazards["cold_growth"]],
    )


def _walks(flow: Flow, hazards: Hazards, since: date) -> ControlPointDraft:
    return _programme(
        "PRP 7",
        "Pests",
        "pests",
        "Remove what was found, close the way in, set more traps; call the contractor for mice.",
        [_answered("none", "Nothing new found", ["nothing", "known, falling"])],
        [
            _dairy_check(
                names.PESTS,
                _weekly(since, "WE", "11:00"),
                [_choice("Traps and screens", ["nothing", "known, falling", "new signs"], "none")],
                how="All traps by the map, screens, drains, under the shelves.",
                window_before_s=3 * HOUR,
                grace_s=24 * HOUR,
            )
        ],
        step=flow["ripen"],
        hazards=[hazards["pests"]],
    )


def _water(since: date) -> ControlPointDraft:
    return _programme(
        "PRP 8",
        "Water from our own well",
        "water",
        "Shut the well off, use the tank of town water, have a sample tested.",
        [
            _answered("clear", "Clear, without smell", ["yes"]),
            _answered("lamp", "Ultraviolet lamp alight", ["yes"]),
        ],
        [
            _dairy_check(
                names.WATER,
                _daily(since, "10:00"),
                [
                    _choice("Clear and without smell", YES_NO, "clear"),
                    _choice("Ultraviolet lamp alight", YES_NO, "lamp"),
                ],
                how="A white jug filled at the make room tap.",
                window_before_s=4 * HOUR,
                grace_s=4 * HOUR,
            )
        ],
    )


def _people(since: date) -> ControlPointDraft:
    return _programme(
        "PRP 9",
        "Health of people",
        "personnel",
        "Whoever is ill with the stomach, or has an open wound on the hands, stays out of make room and rooms.",
        [_answered("well", "Everybody well, hands whole, clothes clean", ["yes"])],
        [
            _dairy_check(
                names.HEALTH,
                _daily(since, "07:00"),
                [_choice("Everybody well, hands whole, clothes clean", YES_NO, "well")],
                how="Ask everybody who comes in, and look at hands and clothes.",
                window_before_s=3 * HOUR,
                grace_s=6 * HOUR + 1800,
            )
        ],
    )


def _labels(flow: Flow, hazards: Hazards, since: date) -> ControlPointDraft:
    return _programme(
        "PRP 10",
        "Labels and allergens",
        "allergens",
        "Stop packing, take back what was labelled since the last good label, label anew.",
        [_answered("right", "Label is that of the cheese and names milk", ["yes"])],
        [
            _dairy_check(
                names.LABELS,
                _weekly(since, "TU,FR", "15:00"),
                [_choice("First and last label read", YES_NO, "right")],
                how="The first and last label of the day beside the recipe.",
                window_before_s=4 * HOUR,
                grace_s=6 * HOUR,
            )
        ],
        step=flow["pack"],
        hazards=[hazards["allergens"]],
    )


def _closing(flow: Flow, hazards: Hazards, since: date) -> ControlPointDraft:
    return _programme(
        "PRP 11",
        "Closing round: metal, glass, doors",
        "foreign bodies",
        "Something broken or missing: stop, look for every piece, report a deviation and name the batches.",
        [
            _answered("whole", "Cutting wires, blades and lamp covers whole", ["yes"]),
            _answered("shut", "Doors and screens shut, drains clean", ["yes"]),
        ],
        [
            _dairy_check(
                names.CLOSING,
                _daily(since, "22:00"),
                [
                    _choice("Wires, blades and lamp covers whole", YES_NO, "whole"),
                    _choice("Doors and screens shut, drains clean", YES_NO, "shut"),
                ],
                how="Walk the dairy from the vats to the door, lamp in hand.",
                window_before_s=3 * HOUR,
                grace_s=11 * HOUR,
            )
        ],
        step=flow["cut"],
        hazards=[hazards["metal"], hazards["glass"]],
    )


def _when_it_happens() -> list[ControlPointDraft]:
    """Programmes that no clock makes due: what is done is recorded when it is done."""

    def programme(
        code: str, name: str, kind: str, action: str, check: str, how: str, question: str
    ) -> ControlPointDraft:
        return _programme(
            code,
            name,
            kind,
            action,
            [_answered("done", question, ["yes"])],
            [_dairy_check(check, {"kind": "by_hand"}, [_choice(question, YES_NO, "done")], how=how)],
        )

    return [
        programme(
            "PRP 13", "Training", "training", "Whoever was not shown a task does not do it alone.",
            "Somebody trained", "Shown, done together, done alone while watched.", "Does it alone and right",
        ),
        programme(
            "PRP 14", "Calibration", "calibration", "Take the instrument out of use until it is calibrated.",
            "Instrument calibrated", "By the laboratory, yearly; the certificate goes into the folder.",
            "Within its tolerance",
        ),
        programme(
            "PRP 15", "Maintenance", "maintenance", "Keep it out of use until it is whole and clean.",
            "Something repaired", "Repaired, cleaned, tools counted, tried with water.", "Whole and clean again",
        ),
        programme(
            "PRP 16", "Waste and whey", "waste", "Have it fetched the same day.",
            "Whey and waste fetched", "Whey tank emptied and rinsed, bins emptied.", "Tank and bins empty",
        ),
        programme(
            "PRP 17", "Transport", "transport", "What was warm longer than four hours is not sold.",
            "Delivery left", "Van cooled beforehand, boxes off the floor, thermometer among the boxes.",
            "Van at 8 °C or less",
        ),
    ]  # fmt: skip


def _ice_point(since: date) -> ControlPointDraft:
    return _programme(
        "PRP 12",
        "Thermometers",
        "calibration",
        "Take the thermometer out of use; look at what was measured with it since it was last right.",
        [
            _between(
                "ice",
                "Within 0.5 °C of 0 °C in melting ice",
                "temperature",
                (-0.5, 0.5),
                (-0.3, 0.3),
                "°C",
            )
        ],
        [
            _dairy_check(
                names.ICE_POINT,
                _weekly(since, "MO", "09:00"),
                [_number("Probe thermometer", "temperature", "°C", "ice")],
                how="Crushed ice and clean water stirred to a slush; read after two minutes.",
                instrument_kind=Instrument.Kind.THERMOMETER,
                window_before_s=2 * HOUR,
                grace_s=24 * HOUR,
            )
        ],
    )

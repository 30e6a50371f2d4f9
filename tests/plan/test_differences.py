"""What differs between two plans, in plain words."""

import dataclasses
import json
from uuid import uuid4

from haccp.plan.differences import Change, concerning, differences
from haccp.plan.document.file import as_json, read_file
from haccp.plan.document.parts import Step
from tests.plan.sound_plan import changed, k, sound_plan, without

SOUND = sound_plan()


def sentences(new) -> list[str]:
    return [one.sentence for one in differences(SOUND, new)]


def test_the_same_plan_differs_in_nothing() -> None:
    assert differences(SOUND, sound_plan()) == []


def test_a_changed_limit_is_told_with_its_old_and_new_value_in_its_unit() -> None:
    new = changed(SOUND, "limit", low=65.0, target_low=66.0, parameters={"hold_s": 2400, "target_hold_s": 2500})

    (sentence,) = sentences(new)

    assert sentence.startswith("Limit “63 °C for 30 min”: lowest value: 63.0 °C → 65.0 °C; lowest target:")
    assert "hold 30 min" in sentence
    assert "hold 40 min" in sentence


def test_added_and_removed_parts_are_named() -> None:
    new = without(SOUND, "whey out").with_part(Step(key=k("wax"), position=6, name="Wax"))

    assert sentences(new) == ["New: step “Wax”.", "Gone: material “Whey”."]


def test_references_are_told_by_name() -> None:
    assert sentences(changed(SOUND, "ccp", step=k("make"), hazards=())) == [
        "Control point “CCP 1 Pasteurisation”: step: “Heat” → “Make”; "
        "hazards: “Listeria monocytogenes survives” → none."
    ]


def test_a_cadence_is_told_in_words() -> None:
    new = changed(SOUND, "check", cadence={"kind": "by_hand"})

    assert sentences(new) == [
        "Check “Heat treatment”: cadence: once for each batch, at make started → when someone asks for it."
    ]


def test_steps_put_in_another_order_are_told_once() -> None:
    swapped = changed(changed(SOUND, "make", position=9), "dispatch", position=8)

    assert sentences(swapped) == [
        "The order of the steps: steps: Milk, Heat, Make, Ripen, Dispatch → Milk, Heat, Ripen, Dispatch, Make."
    ]


def test_the_plan_s_own_settings_are_told() -> None:
    assert sentences(dataclasses.replace(SOUND, review_every_months=6)) == [
        "The plan: reviewed every … months: 12 → 6."
    ]


def test_a_plan_written_anew_is_compared_by_the_names_of_its_parts() -> None:
    """With keys of its own, as when the second revision was not copied from the first."""
    keys = {part.key: str(uuid4()) for _, part in SOUND.parts()}
    text = json.dumps(as_json(SOUND))
    for old, new in keys.items():
        text = text.replace(old, new)
    anew = read_file(text.encode())

    assert not {part.key for _, part in anew.parts()} & set(keys)
    assert differences(SOUND, anew) == []
    lower = dataclasses.replace(anew.limits[0], statement="65 °C for 30 min", low=65.0, target_low=66.0)
    (found,) = differences(SOUND, anew.with_part(lower))
    assert found.change is Change.CHANGED
    assert "63.0 °C → 65.0 °C" in found.sentence


def test_what_concerns_a_batch_is_what_is_judged_and_done_of_its_product() -> None:
    new = changed(changed(SOUND, "limit", low=65.0, target_low=66.0, products=("BS",)), "ada", duty="advises")

    found = differences(SOUND, new)

    assert len(found) == 2
    assert [one.kind for one in concerning(found, "BS")] == ["limits"]
    assert concerning(found, "XY") == []

"""A plan as a file: out and in again, and every way in which a file can be wrong."""

import dataclasses
import json
from collections.abc import Callable
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from haccp.plan.document import PlanDocument
from haccp.plan.document.file import MOST_BYTES, as_json, read_file, schema, write_file
from haccp.plan.document.validity import problems_in
from haccp.science.errors import InputError
from tests import ROOT
from tests.plan.sound_plan import changed, k, sound_plan

SOUND = sound_plan()


def test_the_published_schema_is_the_one_that_files_are_checked_against() -> None:
    published = json.loads((ROOT / "fixtures" / "schemas" / "plan-1.json").read_text())

    Draft202012Validator.check_schema(published)
    assert published == json.loads(json.dumps(schema()))


def test_a_file_follows_the_published_schema() -> None:
    published = json.loads((ROOT / "fixtures" / "schemas" / "plan-1.json").read_text())

    Draft202012Validator(published).validate(json.loads(write_file(SOUND)))


def test_a_round_trip_gives_the_same_plan_and_the_same_bytes() -> None:
    once = read_file(write_file(SOUND))

    assert once == SOUND
    assert write_file(once) == write_file(SOUND)
    assert problems_in(once) == []


@pytest.mark.parametrize(
    "text", ["<script>alert(1)</script>", '=HYPERLINK("x")', "+1+1", "@SUM(A1)", "a & b < c", "𝒜 – ‹ok›"]
)
def test_html_and_formulas_in_text_stay_text(text: str) -> None:
    document = changed(SOUND, "listeria", justification=text, control_measure=text)

    assert read_file(write_file(document)).by_key[k("listeria")] == document.by_key[k("listeria")]


Spoil = Callable[[dict[str, Any]], None]


def spoiled(spoil: Spoil) -> bytes:
    given = as_json(SOUND)
    spoil(given)
    return json.dumps(given).encode()


@pytest.mark.parametrize(
    ("spoil", "sentence"),
    [
        (lambda f: f.update(schema_version=2), "schema 2, which is newer than this service knows"),
        (lambda f: f.update(schema_version="1"), "does not say its schema_version"),
        (lambda f: f.pop("schema_version"), "does not say its schema_version"),
        (lambda f: f.pop("steps"), "“steps” is missing"),
        (lambda f: f.update(recipes=[]), "“recipes” is not known"),
        (lambda f: f["steps"][1].pop("name"), "steps, entry 2: “name” is missing"),
        (lambda f: f["steps"][0].update(colour="red"), "steps, entry 1: “colour” is not known"),
        (lambda f: f["steps"][0].update(kind="magic"), "steps, entry 1, “kind”: “magic” is none of the choices"),
        (lambda f: f["steps"][0].update(name="x" * 81), "longer than 80 characters"),
        (lambda f: f["steps"][0].update(position="1"), "steps, entry 1, “position”: This is no integer"),
        (lambda f: f["hazards"][0].update(likelihood=11), "11 is above 10"),
        (lambda f: f["descriptions"][0].update(ph_high=15), "15 is above 14"),
        (lambda f: f["steps"][0].update(key="one"), "“one” is not written as it must be"),
        (lambda f: f["validations"][0].update(performed_on="2026-02-30"), "no day of the calendar"),
    ],
)
def test_a_file_that_breaks_the_schema_is_refused_with_the_place(spoil: Spoil, sentence: str) -> None:
    with pytest.raises(InputError) as refused:
        read_file(spoiled(spoil))

    assert sentence in str(refused.value)
    assert refused.value.remedy


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "not JSON"),
        (b"[1]", "holds no plan"),
        (b"\xff\xfe{}", "not UTF-8"),
        (b'{"schema_version": 1, "schema_version": 1}', "stands twice"),
        (b'{"schema_version": NaN}', "NaN, which is not a number"),
        (b"[" * 100_000, "nested too deeply"),
        (b" " * (MOST_BYTES + 1), "a plan has at most 10 MB"),
    ],
)
def test_what_is_no_plan_file_is_refused(content: bytes, sentence: str) -> None:
    with pytest.raises(InputError, match=sentence):
        read_file(content)


@pytest.mark.parametrize(
    ("which", "fields", "sentence"),
    [
        ("limit", {"unit": "pH"}, "“pH” is not a unit of temperature"),
        ("limit", {"quantity": "colour"}, "There is no quantity named “colour”"),
        ("limit", {"quantity": "ph", "unit": "pH"}, "“holding” cannot judge pH"),
        ("limit", {"evaluator": "by_eye"}, "no way of judging"),
        ("limit", {"parameters": {"hold_s": "long"}}, "(hold_s): 'long' is not of type"),
        ("limit", {"low": None, "high": 63.0}, "needs a lowest value"),
        ("limit", {"target_low": 60.0}, "The target lies outside the limit"),
        ("limit", {"control_point": k("milk")}, "must be a control point, not a step"),
        ("limit", {"control_point": k("nowhere")}, "is not in this plan"),
        ("limit", {"products": ("ZZ",)}, "There is no product “ZZ”"),
        ("limit", {"low": float("nan")}, "is a number"),
        ("m recorder", {"quantity": "ph", "unit": "pH"}, "It measures pH, but “63 °C for 30 min” limits temperature"),
        ("m recorder", {"unit": "kg"}, "“kg” is not a unit of temperature"),
        ("check", {"cadence": {"kind": "clock", "rrule": "FREQ=SOMETIMES", "from": "2026-01-01"}}, "FREQ"),
        ("check", {"subject": "place"}, "Name the place"),
        ("check", {"subject": "place", "place": "Attic"}, "There is no place “Attic”"),
        ("d listeria", {"answers": {"q1": True, "q4": True}}, "does not ask q4"),
        ("description", {"ph_low": 6.0}, "lowest pH is above the highest"),
        ("milk", {"name": "a\x00b"}, "cannot be stored"),
        ("milk", {"name": "   "}, "Give the name"),
        ("heat", {"position": 1}, "There is already a step with this position"),
        ("prp water", {"code": "CCP 1"}, "There is already a control point with this code"),
    ],
)
def test_a_part_that_could_not_be_kept_or_judged_is_named(which: str, fields: dict[str, Any], sentence: str) -> None:
    document: PlanDocument = changed(SOUND, which, **fields)

    assert any(sentence in problem.sentence for problem in problems_in(document)), problems_in(document)


def test_two_parts_with_one_key_are_refused() -> None:
    twice = dataclasses.replace(SOUND, team_members=(*SOUND.team_members, *SOUND.team_members))

    assert any("same key" in problem.sentence for problem in problems_in(twice))


def test_the_documented_example_follows_the_schema_and_is_written_again_the_same() -> None:
    """The example that docs/plan-file.md points to."""
    content = (ROOT / "fixtures" / "examples" / "plan-small.json").read_bytes()
    Draft202012Validator(schema()).validate(json.loads(content))
    plan = read_file(content)
    assert problems_in(plan) == []
    assert json.loads(write_file(plan)) == json.loads(content)

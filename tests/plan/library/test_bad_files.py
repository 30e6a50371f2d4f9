"""Library files that cannot be used: each fault is told with its file, its entry and what to do."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from haccp.plan.library import LibraryError, load_library
from tests.plan.library.conftest import FOLDER, SCHEMA

Change = Callable[[Path], None]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(FOLDER, tmp_path / "library"))


def replace(file: str, old: str, new: str) -> Change:
    def change(folder: Path) -> None:
        path = folder / file
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new, 1), encoding="utf-8")

    return change


def write(file: str, content: bytes) -> Change:
    def change(folder: Path) -> None:
        (folder / file).write_bytes(content)

    return change


HEAT, MILK, MICRO, AGEING = (f"values/{name}.yaml" for name in ("heat", "milk", "microbiology", "ageing"))
CRITICAL, BASIC, BIOLOGY = "controls/critical.yaml", "controls/prerequisites.yaml", "hazards/biological.yaml"

CASES: list[tuple[str, Change, str, str, str]] = [
    # name, change, file, entry, words of the message
    (
        "unit",
        replace(HEAT, "unit: °C, si: 63,", "unit: bar, si: 63,"),
        HEAT,
        "heat.us.63c",
        "“bar” is not a unit of temperature",
    ),
    (
        "dimension",
        replace(
            HEAT,
            "quantity: temperature, comparator: at_least, value: 63,",
            "quantity: hold_time, comparator: at_least, value: 63,",
        ),
        HEAT,
        "heat.us.63c",
        "is not a unit of holding time",
    ),
    (
        "conversion",
        replace(MILK, "unit: °F, si: 7.2222", "unit: °F, si: 45"),
        MILK,
        "milk.held.us",
        "the stored value 45 °C is not 7.22222",
    ),
    (
        "quantity",
        replace(HEAT, "quantity: phosphatase, comparator: at_most", "quantity: phosphate, comparator: at_most"),
        HEAT,
        "heat.alp.eu",
        "no quantity named “phosphate”",
    ),
    (
        "not plausible",
        replace(AGEING, "value: 60, unit: d, si: 5184000", "value: 60000, unit: d, si: 5184000000"),
        AGEING,
        "ageing.us.soft",
        "is not plausible",
    ),
    (
        "evaluator",
        replace(HEAT, "evaluator: holding", "evaluator: hodling"),
        HEAT,
        "heat.us.63c",
        "no way of judging named “hodling”",
    ),
    (
        "parameter",
        replace(HEAT, "{hold_s: 1800}", "{hold_min: 30}"),
        HEAT,
        "heat.us.63c",
        "does not take hold_min. It takes: hold_s",
    ),
    (
        "document",
        replace(HEAT, "document: us-21cfr1240", "document: us-21cfr1241"),
        HEAT,
        "heat.us.63c",
        "There is no document “us-21cfr1241”",
    ),
    (
        "better known",
        replace(HEAT, "known: memory", "known: read"),
        HEAT,
        "heat.uk.63c",
        "It is marked “read”, but its document is known only “secondary”",
    ),
    (
        "superseded since when",
        replace(HEAT, '    effective_to: "2012-06-27"\n', ""),
        HEAT,
        "heat.thermisation.au.old",
        "nothing says since when",
    ),
    (
        "superseded by nothing",
        replace(HEAT, "superseded_by: heat.thermisation.au", "superseded_by: heat.none"),
        HEAT,
        "heat.thermisation.au.old",
        "There is no value “heat.none”",
    ),
    (
        "ends first",
        replace(MILK, 'effective_from: "1995-05-09"', 'effective_from: "2015-05-09"'),
        MILK,
        "milk.transport.uk.old",
        "ends before it begins",
    ),
    ("no such day", replace(MILK, "1995-05-09", "1995-02-30"), MILK, "milk.transport.uk.old", "day"),
    (
        "sampling",
        replace(MICRO, "c: 2, m: 100, M: 1000", "c: 5, m: 100, M: 1000"),
        MICRO,
        "micro.eu.2.2.2",
        "would let every unit pass",
    ),
    (
        "m above M",
        replace(MICRO, "m: 10000, M: 100000", "m: 100000, M: 10000"),
        MICRO,
        "micro.eu.2.2.3",
        "m is above M",
    ),
    (
        "table",
        replace("values/growth.yaml", "[non, non, non, non], ", ""),
        "values/growth.yaml",
        "growth.food_code.b",
        "one cell for every row and column",
    ),
    (
        "cadence",
        replace(CRITICAL, "event: starter_added, offsets_s: [7200", "event: starter_added, offset_s: [7200"),
        CRITICAL,
        "ccp.acidification",
        "pH of the curd",
    ),
    (
        "measure's limit",
        replace(CRITICAL, "unit: pH, limits: [ph]", "unit: pH, limits: [acid]"),
        CRITICAL,
        "ccp.acidification",
        "names the limit “acid”",
    ),
    (
        "value of another place",
        replace(CRITICAL, "{jurisdiction: [EU]}, value: heat.eu.63c", "{jurisdiction: [EU]}, value: heat.us.63c"),
        CRITICAL,
        "ccp.pasteurisation",
        "chosen for EU, where it does not hold",
    ),
    (
        "limit of another quantity",
        replace(CRITICAL, "value: heat.eu.63c, limit: hold", "value: heat.alp.eu, limit: phosphatase"),
        CRITICAL,
        "ccp.pasteurisation",
        "Use one quantity",
    ),
    (
        "answer",
        replace(CRITICAL, "jurisdiction: [AU]}", "jurisdiction: [NZ]}"),
        CRITICAL,
        "ccp.pasteurisation",
        "“NZ” is no answer to “jurisdiction”",
    ),
    ("control", replace(BIOLOGY, "prp.herd_health", "prp.herd"), BIOLOGY, "listeria", "There is no control “prp.herd”"),
    (
        "uncontrolled",
        replace("hazards/physical.yaml", "controlled_by: [prp.maintenance]", "controlled_by: []"),
        "hazards/physical.yaml",
        "metal",
        "nothing controls it",
    ),
    (
        "step",
        replace("families.yaml", "steps: [milk_receipt,", "steps: [milk_recipe,"),
        "families.yaml",
        "fresh_lactic",
        "There is no step “milk_recipe”",
    ),
    ("programme", replace(BASIC, "    programme: pests\n", ""), BASIC, "prp.pests", "has no name"),
    ("schema", replace(HEAT, "force: floor", "force: law"), HEAT, "heat.us.63c", "'law' is not one of"),
    ("unknown key", replace(HEAT, "    process: batch\n", "    proces: batch\n"), HEAT, "heat.us.63c", "proces"),
    ("newer", replace(HEAT, "schema: library-1", "schema: library-2"), HEAT, "schema", "Use a newer version"),
    (
        "twice",
        replace(HEAT, "id: heat.us.72c\n", "id: heat.us.63c\n"),
        HEAT,
        "heat.us.63c",
        "stands in values/heat.yaml already",
    ),
    (
        "key twice",
        replace(HEAT, "    known: read\n", "    known: read\n    known: memory\n"),
        HEAT,
        "line",
        "“known” stands here twice",
    ),
    ("not yaml", write(HEAT, b"schema: library-1\nvalues: [\n"), HEAT, "line", "This is not YAML"),
    ("not text", write(HEAT, b"schema: \xff\xfe"), HEAT, "", "not UTF-8"),
    ("a list", write(HEAT, b"- schema\n"), HEAT, "", "does not begin with names and values"),
    ("large", write(HEAT, b"# " + b"x" * 2_000_001), HEAT, "", "larger than 2 MB"),
    ("code in yaml", write(HEAT, b"schema: !!python/object/apply:os.getcwd []\n"), HEAT, "line", "This is not YAML"),
    (
        "edition twice",
        replace(
            HEAT, "schema: library-1\n", 'schema: library-1\nedition: {name: Other, number: 2, dated: "2026-01-01"}\n'
        ),
        "library",
        "edition",
        "Keep it in one file",
    ),
]


@pytest.mark.parametrize(("name", "change", "file", "entry", "words"), CASES, ids=[case[0] for case in CASES])
def test_a_fault_names_file_entry_and_remedy(
    folder: Path, name: str, change: Change, file: str, entry: str, words: str
) -> None:
    change(folder)
    with pytest.raises(LibraryError) as refused:
        load_library(folder, SCHEMA)
    found = [
        finding
        for finding in refused.value.faults
        if finding.file == file and finding.entry.startswith(entry) and words in str(finding)
    ]
    assert found, str(refused.value)
    assert all(finding.remedy for finding in found)


def test_all_faults_are_told_at_once(folder: Path) -> None:
    replace(HEAT, "unit: °C, si: 63,", "unit: bar, si: 63,")(folder)
    replace(MICRO, "m: 10000, M: 100000", "m: 100000, M: 10000")(folder)
    replace("families.yaml", "steps: [milk_receipt,", "steps: [milk_recipe,")(folder)
    with pytest.raises(LibraryError) as refused:
        load_library(folder, SCHEMA)
    assert {HEAT, MICRO, "families.yaml"} <= {finding.file for finding in refused.value.faults}
    assert len(str(refused.value).splitlines()) == len(refused.value.faults)


def test_an_empty_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(LibraryError, match="There is no library file here"):
        load_library(tmp_path, SCHEMA)


def test_yaml_words_and_dates_stay_as_they_are_typed(folder: Path) -> None:
    """YAML 1.1 turns no, yes and dates into other things; a library file keeps them."""
    controls = load_library(folder, SCHEMA)[0].controls
    answers = {
        measure.choices for control in controls.values() for check in control.checks for measure in check.measures
    }
    assert ("yes", "no") in answers

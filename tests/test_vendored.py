"""Files by others are listed with their licence, and are what their authors published."""

import re
from hashlib import sha256
from pathlib import Path

VENDOR = Path(__file__).parents[1] / "haccp" / "static" / "vendor"
ROW = re.compile(
    r"^\| `(?P<file>[^`]+)` \| (?P<name>[^|]+) \| (?P<version>[^|]+) \| (?P<licence>[^|]+)"
    r" \| `(?P<sum>[0-9a-f]{64})` \|$"
)


def rows() -> dict[str, dict[str, str]]:
    lines = [line for line in (VENDOR / "README.md").read_text().splitlines() if line.startswith("| `")]
    found = [ROW.match(line) for line in lines]
    assert None not in found, f"Rows that cannot be read: {[line for line in lines if not ROW.match(line)]}"
    return {match["file"]: match.groupdict() for match in found if match}


def files() -> dict[str, Path]:
    return {
        path.relative_to(VENDOR).as_posix(): path
        for path in VENDOR.rglob("*")
        if path.is_file() and path.name != "README.md"
    }


def test_every_vendored_file_has_a_row_and_every_row_its_file() -> None:
    assert files()
    assert set(rows()) == set(files())


def test_every_vendored_file_is_unchanged() -> None:
    listed = rows()

    changed = [name for name, path in files().items() if sha256(path.read_bytes()).hexdigest() != listed[name]["sum"]]

    assert changed == []


def test_every_vendored_work_has_its_licence_beside_it() -> None:
    for name, path in files().items():
        beside = [p for folder in (path.parent, *path.parent.parents) for p in folder.glob("LICENSE*")]
        inside = [p for p in beside if VENDOR in p.parents]
        assert inside, f"No licence text beside {name}"

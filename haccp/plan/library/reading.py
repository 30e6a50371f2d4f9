"""Library files as they are written: YAML, read strictly, checked against the published JSON Schema."""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml
from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError, best_match

from haccp.plan.library.faults import Fault

SECTIONS = ("documents", "values", "hazards", "steps", "controls", "families", "questions")
LARGEST_FILE = 2_000_000


@dataclass(frozen=True, slots=True)
class RawEntry:
    """One entry as written. section: one of SECTIONS."""

    file: str
    section: str
    data: dict[str, Any]

    @property
    def id(self) -> str:
        return str(self.data["id"])


# libyaml's parser where it is built in: ten times as fast.
_SAFE_LOADER: type[yaml.SafeLoader] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class _StrictLoader(_SAFE_LOADER):  # type: ignore[misc,valid-type]
    """YAML without surprises: no key twice, no dates, and only true and false are truth values."""

    def construct_mapping(self, node: yaml.MappingNode, deep: bool = False) -> dict[Any, Any]:
        seen: set[object] = set()
        for key_node, _ in node.value:
            key = self.construct_object(key_node, deep=True)
            if isinstance(key, str | int | float | bool) and key in seen:
                raise yaml.MarkedYAMLError(problem=f"“{key}” stands here twice", problem_mark=key_node.start_mark)
            seen.add(key)
        mapping: dict[Any, Any] = super().construct_mapping(node, deep=deep)
        return mapping


_StrictLoader.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in resolvers if not tag.endswith((":timestamp", ":bool", ":merge"))]
    for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
}
_StrictLoader.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile(r"^(?:true|false)$"), list("tf"))


def read_folder(folder: Path, schema_file: Path) -> tuple[list[RawEntry], dict[str, Any], list[Fault]]:
    """Entries of every file below folder in the order of their names, the edition, and what is wrong."""
    files = sorted(folder.rglob("*.yaml"))
    if not files:
        return [], {}, [Fault(folder.name, "", "There is no library file here.", "Name a folder of .yaml files.")]
    entries: list[RawEntry] = []
    editions: list[tuple[str, dict[str, Any]]] = []
    faults: list[Fault] = []
    for path in files:
        name = path.relative_to(folder).as_posix()
        data, problem = _read_file(path, name)
        problems = [problem] if problem else list(_against_schema(name, data, schema_file))
        faults += problems
        if problems:
            continue
        if "edition" in data:
            editions.append((name, data["edition"]))
        entries += [RawEntry(name, section, item) for section in SECTIONS for item in data.get(section, [])]
    if len(editions) != 1 and not faults:
        where = ", ".join(name for name, _ in editions) or "no file"
        faults.append(Fault(folder.name, "edition", f"The edition stands in {where}.", "Keep it in one file."))
    return entries, editions[0][1] if editions else {}, faults


def _read_file(path: Path, name: str) -> tuple[dict[str, Any], Fault | None]:
    if path.stat().st_size > LARGEST_FILE:
        return {}, Fault(name, "", "The file is larger than 2 MB.", "Divide it by subject.")
    try:
        data = yaml.load(path.read_text(encoding="utf-8"), Loader=_StrictLoader)  # noqa: S506  a SafeLoader
    except UnicodeDecodeError:
        return {}, Fault(name, "", "The file is not UTF-8 text.", "Save it as UTF-8.")
    except yaml.MarkedYAMLError as error:
        line = f"line {error.problem_mark.line + 1}" if error.problem_mark else ""
        return {}, Fault(name, line, f"This is not YAML: {error.problem}.", "Correct that line.")
    except RecursionError:
        return {}, Fault(name, "", "The file is nested too deeply.", "Write it flat, as the other files are.")
    if not isinstance(data, dict):
        return {}, Fault(name, "", "The file does not begin with names and values.", "Begin it with “schema:”.")
    return data, None


def _against_schema(name: str, data: dict[str, Any], schema_file: Path) -> Iterator[Fault]:
    version = data.get("schema")
    if version != "library-1":
        newer = isinstance(version, str) and version.startswith("library-")
        remedy = "Use a newer version of this service." if newer else "Begin it with “schema: library-1”."
        yield Fault(name, "schema", f"“{version}” is not a library that can be read here.", remedy)
        return
    for error in _validator(schema_file).iter_errors(data):
        yield _as_finding(name, data, error)


@cache
def _validator(schema_file: Path) -> Draft202012Validator:
    return Draft202012Validator(json.loads(schema_file.read_text(encoding="utf-8")))


def _as_finding(name: str, data: dict[str, Any], error: ValidationError) -> Fault:
    error = best_match([error]) or error
    path = list(error.absolute_path)
    entry, rest = "", path
    if len(path) >= 2 and isinstance(path[1], int):
        item = data[str(path[0])][path[1]]
        number = f"{path[0]} no. {path[1] + 1}"
        entry, rest = (str(item["id"]), path[2:]) if isinstance(item, dict) and "id" in item else (number, path[2:])
    where = ".".join(str(step) for step in rest)
    message = error.message if len(error.message) < 300 else error.message[:300] + " …"
    return Fault(name, entry, f"{where + ': ' if where else ''}{message}.", "See fixtures/schemas/library-1.json.")

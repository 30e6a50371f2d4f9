"""A folder of files in, a checked library out."""

import datetime as dt
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from haccp.ledger.canonical import sha256_of
from haccp.plan.library import building
from haccp.plan.library.checking import problems
from haccp.plan.library.faults import Fault, LibraryError
from haccp.plan.library.library import Library
from haccp.plan.library.reading import SECTIONS, RawEntry, read_folder

_BUILDERS: dict[str, Callable[[Any], Any]] = {
    "documents": building.document,
    "values": building.value,
    "hazards": building.hazard,
    "steps": building.step,
    "controls": building.control,
    "families": building.family,
    "questions": building.question,
}


def load_library(folder: Path, schema_file: Path) -> tuple[Library, list[RawEntry]]:
    """The library that the files below folder hold, and its entries as written.

    LibraryError with everything that is wrong, when anything is.
    """
    entries, edition, faults = read_folder(folder, schema_file)
    faults += _twice(entries)
    if faults:
        raise LibraryError(faults)
    library = build(entries, edition)
    files = {(entry.section, entry.id): entry.file for entry in entries}
    faults = [
        Fault(files.get((section, entry), ""), entry, problem, remedy)
        for section, (entry, problem, remedy) in problems(library)
    ]
    if faults:
        raise LibraryError(faults)
    return library, entries


def build(entries: Sequence[RawEntry], edition: dict[str, Any]) -> Library:
    """The typed library of entries that the schema has let pass. LibraryError for a date that no calendar has."""
    built: dict[str, dict[str, Any]] = {section: {} for section in SECTIONS}
    faults: list[Fault] = []
    for entry in entries:
        try:
            built[entry.section][entry.id] = _BUILDERS[entry.section](entry.data)
        except ValueError as error:
            faults.append(Fault(entry.file, entry.id, f"{error}.", "Correct it."))
    if faults:
        raise LibraryError(faults)
    return Library(
        name=edition["name"],
        number=edition["number"],
        dated=dt.date.fromisoformat(edition["dated"]),
        sha256=sha256_of([[entry.section, entry.data] for entry in sorted(entries, key=lambda e: (e.section, e.id))]),
        **built,
    )


def _twice(entries: Sequence[RawEntry]) -> list[Fault]:
    first: dict[tuple[str, str], str] = {}
    faults = []
    for entry in entries:
        key = (entry.section, entry.id)
        if key in first:
            faults.append(
                Fault(entry.file, entry.id, f"This id stands in {first[key]} already.", "Give each entry its own id.")
            )
        first.setdefault(key, entry.file)
    return faults

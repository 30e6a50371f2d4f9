"""The library kept in the database: loading it from files, and asking it."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import Q

from haccp.ledger.canonical import sha256_of
from haccp.plan.findings.superseded import Superseded
from haccp.plan.library.building import document as build_document
from haccp.plan.library.building import value as build_value
from haccp.plan.library.conditions import Answer
from haccp.plan.library.entries import Value
from haccp.plan.library.floors import LibraryFloors
from haccp.plan.library.library import HazardAtStep, Library, values_of
from haccp.plan.library.library import floors as floors_of
from haccp.plan.library.loading import build, load_library
from haccp.plan.library.reading import RawEntry
from haccp.plan.library.superseded import superseded_sources
from haccp.plan.models import LibraryBlock, LibraryDocument, LibraryHazard, LibraryLoad, LibraryValue
from haccp.plan.models.library import LibraryEntry
from haccp.premises.errors import ActionError

FOLDER: Path = settings.BASE_DIR / "fixtures" / "library"
SCHEMA: Path = settings.BASE_DIR / "fixtures" / "schemas" / "library-1.json"

_VALUE_COLUMNS = (
    "subject", "title", "jurisdictions", "document", "clause", "known", "force", "effective_from", "effective_to",
    "superseded_by",
)  # fmt: skip
_COLUMNS: dict[str, tuple[str, ...]] = {
    "documents": ("title", "jurisdiction", "known", "superseded_by"),
    "values": _VALUE_COLUMNS,
    "hazards": ("name", "kind"),
}
_MODELS: dict[str, type[LibraryEntry]] = {
    "documents": LibraryDocument,
    "values": LibraryValue,
    "hazards": LibraryHazard,
}
_MAY_BE_EMPTY = {"superseded_by": ""}


@dataclass(frozen=True, slots=True)
class Loaded:
    """What a loading changed: numbers of entries."""

    library: Library
    added: int
    changed: int
    withdrawn: int

    @property
    def is_unchanged(self) -> bool:
        return not (self.added or self.changed or self.withdrawn)


@transaction.atomic
def library_load(*, at: dt.datetime, folder: Path = FOLDER, schema_file: Path = SCHEMA) -> Loaded:
    """Checks the files below folder and stores what is new or changed; loading again changes nothing.

    LibraryError with everything that is wrong, and then nothing is stored.
    """
    library, entries = load_library(folder, schema_file)
    added = changed = withdrawn = 0
    for section in ("documents", "values", "hazards", *LibraryBlock.Section.values):
        one = _store_section(section, [entry for entry in entries if entry.section == section], at)
        added, changed, withdrawn = added + one[0], changed + one[1], withdrawn + one[2]
    loaded = Loaded(library, added, changed, withdrawn)
    newest = LibraryLoad.objects.first()
    if not loaded.is_unchanged or newest is None or newest.number != library.number:
        LibraryLoad.objects.create(
            name=library.name, number=library.number, dated=library.dated, sha256=library.sha256, loaded_at=at
        )
    return loaded


def _store_section(section: str, entries: Sequence[RawEntry], at: dt.datetime) -> tuple[int, int, int]:
    model = _MODELS.get(section, LibraryBlock)
    fixed = {} if section in _MODELS else {"section": section}
    rows = model._default_manager.filter(**fixed)
    current = {row.key: row for row in rows.filter(replaced_at__isnull=True)}
    last: dict[str, int] = {}
    for key, version in rows.values_list("key", "version"):
        last[key] = max(version, last.get(key, 0))
    fresh, stale = [], []
    for position, entry in enumerate(entries):
        digest, old = sha256_of(entry.data), current.pop(entry.id, None)
        if old is not None and old.sha256 == digest:
            if old.position != position:
                rows.filter(pk=old.pk).update(position=position)
            continue
        if old is not None:
            stale.append(old.pk)
        fresh.append(
            model(
                key=entry.id,
                version=last.get(entry.id, 0) + 1,
                sha256=digest,
                content=entry.data,
                file=entry.file,
                position=position,
                loaded_at=at,
                **fixed,
                **_columns(section, entry.data),
            )
        )
    gone = [row.pk for row in current.values()]
    rows.filter(pk__in=[*stale, *gone]).update(replaced_at=at)
    model._default_manager.bulk_create(fresh)
    return len(fresh) - len(stale), len(stale), len(gone)


def _columns(section: str, data: Mapping[str, Any]) -> dict[str, Any]:
    return {name: data.get(name, _MAY_BE_EMPTY.get(name)) for name in _COLUMNS.get(section, ())}


def stored_library() -> Library:
    """The library as it was loaded last. ActionError when none was."""
    newest = LibraryLoad.objects.first()
    if newest is None:
        raise ActionError("The library of published values is not loaded yet; run “manage.py load_library”.")
    # A load's hash is that of its entries: what was built from them once is the same whoever asks for it.
    key = (newest.sha256, newest.name, newest.number)
    built = _BUILT.get(key)
    if built is None:
        built = _build_stored(newest)
        _BUILT.clear()
        _BUILT[key] = built
    return built


_BUILT: dict[tuple[str, str, int], Library] = {}


def _build_stored(newest: LibraryLoad) -> Library:
    entries = [
        RawEntry(file, section, content)
        for section, model in _MODELS.items()
        for file, content in model._default_manager.filter(replaced_at__isnull=True)
        .order_by("position")
        .values_list("file", "content")
    ]
    blocks = LibraryBlock.objects.current().order_by("section", "position").values_list("file", "section", "content")
    entries += [RawEntry(file, section, content) for file, section, content in blocks]
    edition = {"name": newest.name, "number": newest.number, "dated": newest.dated.isoformat()}
    return build(entries, edition)


def values(subject: str, jurisdiction: str) -> tuple[Value, ...]:
    """Every current value of a subject that a jurisdiction (or the one above it) published, superseded ones too."""
    return values_of(_values(subject), subject, jurisdiction)


def floors(jurisdiction: str, species: str, treatment: str, subject: str, at_date: dt.date) -> tuple[Value, ...]:
    """The law that a plan may not be laxer than, on that day: one query."""
    return floors_of(_values(subject), jurisdiction, species, treatment, subject, at_date)


@dataclass(frozen=True, slots=True)
class PublishedLaw:
    """What the findings of a plan ask the library: floors and bans, replaced texts, and replaced values it borrowed."""

    floors: LibraryFloors
    superseded: tuple[Superseded, ...]
    replaced: Mapping[str, str]


def published_law(*, jurisdiction: str, on: dt.date, borrowed: Sequence[str]) -> PublishedLaw:
    """In a constant number of queries. borrowed: ids of the values that a plan took over.

    Where no library was loaded yet, the one that the service brings speaks.
    """
    rows = LibraryDocument.objects.current().values_list("content", flat=True)
    documents = {raw["id"]: build_document(raw) for raw in rows}
    if documents:
        about = LibraryValue.objects.current().filter(Q(subject="ageing") | Q(content__forbids=True)).order_by("key")
        law = tuple(build_value(content) for content in about.values_list("content", flat=True))
        replaced = superseded(borrowed) if borrowed else {}
    else:
        brought = _brought()
        documents = dict(brought.documents)
        law = tuple(value for value in brought.values.values() if value.subject == "ageing" or value.forbids)
        replaced = {key: by for key in borrowed if (by := _successor(brought, key))}
    titles = {key: document.title for key, document in documents.items()}
    return PublishedLaw(LibraryFloors(law, titles, on), superseded_sources(documents, jurisdiction, on), replaced)


@cache
def _brought() -> Library:
    return load_library(FOLDER, SCHEMA)[0]


def _successor(library: Library, key: str) -> str:
    value = library.values.get(key)
    return value.superseded_by if value else ""


def ageing_law(on: dt.date) -> LibraryFloors | None:
    """The library's legal floors on a day, in two queries; None where no library is loaded."""
    found = tuple(_values("ageing"))
    return LibraryFloors(found, document_titles(), on) if found else None


def document_titles() -> dict[str, str]:
    """Id of a document -> how it is cited. One query; empty where no library is loaded."""
    return dict(LibraryDocument.objects.current().values_list("key", "title"))


def library_ready(*, at: dt.datetime) -> Library:
    """The library that is stored; the one that the service brings is loaded where none is yet."""
    if not LibraryLoad.objects.exists():
        library_load(at=at)
    return stored_library()


def hazards_for(
    species: str, treatment: str, steps: Sequence[str], answers: Mapping[str, Answer] | None = None
) -> tuple[HazardAtStep, ...]:
    """See Library.hazards_for."""
    return stored_library().hazards_for(species, treatment, steps, answers)


def superseded(keys: Sequence[str]) -> dict[str, str]:
    """Of the value ids given, those that are superseded or withdrawn -> the id that took their place, or empty."""
    current = dict(LibraryValue.objects.current().filter(key__in=keys).values_list("key", "superseded_by"))
    known = set(LibraryValue.objects.filter(key__in=keys).values_list("key", flat=True))
    return {key: current.get(key, "") for key in keys if key in known and current.get(key, "gone")}


def replaced_between(keys: Sequence[str], after: dt.date, until: dt.date) -> list[tuple[dt.date, str]]:
    """Of the value ids given, those that were replaced or changed in that time: the day, and what it is about.

    The day is that of the law where the library knows it, else that on which the library first said so.
    """
    found = []
    for row in LibraryValue.objects.current().filter(key__in=keys):
        told = row.loaded_at.date() if row.superseded_by or row.version > 1 else None
        days = [day for day in (row.effective_to, told) if day is not None and after < day <= until]
        if days:
            found.append((min(days), row.title))
    return found


def _values(subject: str) -> list[Value]:
    rows = LibraryValue.objects.current().filter(subject=subject).order_by("key")
    return [build_value(content) for content in rows.values_list("content", flat=True)]

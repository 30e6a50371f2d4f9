"""An exported premises into this installation: all of it, verified, or nothing."""

import secrets
import zlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import Any

from django.contrib.auth.hashers import make_password
from django.core.exceptions import ValidationError
from django.core.files import File
from django.core.files.storage import default_storage
from django.db import DatabaseError, connection, transaction
from django.db.models import Model

from haccp.keeping.backup import KeepingError
from haccp.keeping.parcel import belongings, shape
from haccp.keeping.parcel.reading import Parcel
from haccp.keeping.parcel.values import from_json
from haccp.keeping.parcel.writing import attached_file
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.premises.models import Premises, Producer, User

ROWS_AT_ONCE = 500

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Brought:
    """One premises as it arrived. public_key: that signed its export; stand_ins: id -> address of those who could not
    keep their address, because somebody signs in with it here."""

    premises: Premises
    rows: int
    entries: int
    public_key: str
    stand_ins: dict[str, str]
    absent: tuple[str, ...]


@dataclass
class _Arrival:
    """What one import carries along. stored: names of the files that it put into the storage."""

    at: datetime
    stand_ins: dict[str, str] = field(default_factory=dict)
    stored: list[str] = field(default_factory=list)


def import_premises(paths: Sequence[Path], *, at: datetime) -> list[Brought]:
    """Brings exports in, with every id as it was, in one transaction.

    Moves: hold each file against its signed manifest; refuse a premises or log that is here; insert every row, people
    without a password that anybody knows, devices and open invitations ended; store the papers; look at every
    reference; verify each log, entry by entry and row by row, and compare it with the manifest.
    Several files: premises that moved cheese between them name one another's rows, and come in together.
    Errors: KeepingError naming the first thing that does not fit. Nothing is left of the import then.
    """
    arrival = _Arrival(at)
    try:
        with ExitStack() as opened:
            parcels = [opened.enter_context(Parcel(path)) for path in paths]
            with transaction.atomic():
                return _bring(parcels, arrival)
    except BaseException as error:
        for name in arrival.stored:
            default_storage.delete(name)
        if isinstance(error, DatabaseError):
            raise KeepingError(_reference_words(error)) from error
        raise


def _bring(parcels: list[Parcel], arrival: _Arrival) -> list[Brought]:
    counted = []
    for parcel in parcels:
        _refuse_known(parcel)
        counted.append(sum(_insert_table(parcel, label, arrival) for label in belongings.tables()))
    for parcel in parcels:
        _store_papers(parcel, arrival)
    connection.check_constraints()
    return [_verified(parcel, rows, arrival) for parcel, rows in zip(parcels, counted, strict=True)]


def _reference_words(error: DatabaseError) -> str:
    return (
        f"A row does not fit here, or names one that is not here: {' '.join(str(error).split())[:400]}. Premises that "
        "moved cheese between them are imported together: name the files of all of them. Nothing was imported."
    )


def _refuse_known(parcel: Parcel) -> None:
    if Premises.objects.filter(pk=parcel.premises_id).exists():
        raise KeepingError(f"{parcel.name} is here already: an export is brought into an installation without it.")
    if Log.objects.filter(key=parcel.log_key).exists():
        raise KeepingError(f"There is a log {parcel.log_key} here already, of another premises than {parcel.name}.")


def _insert_table(parcel: Parcel, label: str, arrival: _Arrival) -> int:
    """Returns how many rows the table has in the archive."""
    model, attached, count = belongings.model_of(label), shape.ATTACHED.get(label), 0
    rows = _read(parcel, label, arrival)
    # Files one at a time, so that no more than one is in memory.
    while batch := list(islice(rows, 1 if attached else ROWS_AT_ONCE)):
        count += len(batch)
        try:
            model._base_manager.bulk_create([one for one in batch if one is not None])
        except DatabaseError as error:
            raise KeepingError(
                f"{shape.rows_file(label)}, lines {count - len(batch) + 1} to {count}: {' '.join(str(error).split())}"
            ) from error
    return count


def _read(parcel: Parcel, label: str, arrival: _Arrival) -> Iterator[Model | None]:
    """Rows as they are to stand here; None for one that is here already and stays as it is."""
    model, attached = belongings.model_of(label), shape.ATTACHED.get(label)
    columns = {column.attname: column for column in belongings.columns_of(model)}
    settle = _SETTLING.get(label, _as_it_was)
    for number, row in parcel.rows(label):
        try:
            values = {name: from_json(columns[name], value) for name, value in row.items()}
        except (ValidationError, ValueError, TypeError) as error:
            raise KeepingError(f"Line {number} of {shape.rows_file(label)} cannot be read: {error}") from error
        if attached is not None:
            sent = parcel.content(attached_file(label, row[model._meta.pk.attname], attached))
            values[attached.column] = zlib.compress(sent, 6) if attached.deflated else sent
        settled = settle(values, arrival)
        yield model(**settled) if settled is not None else None


def _as_it_was(row: Row, arrival: _Arrival) -> Row | None:
    return row


def _producer(row: Row, arrival: _Arrival) -> Row | None:
    return None if Producer.objects.filter(pk=row["id"]).exists() else row


def _person(row: Row, arrival: _Arrival) -> Row | None:
    """Nobody knows the password: who had one chooses another by mail. Whoever is here already stays as they are; an
    address with which somebody else signs in here stays theirs."""
    if User.objects.filter(pk=row["id"]).exists():
        return None
    if User.objects.filter(email=row["email"]).exists():
        arrival.stand_ins[str(row["id"])] = row["email"]
        row["email"] = f"{row['id']}@imported.invalid"
    return row | {"password": make_password(secrets.token_urlsafe(48)), "last_login": None}


def _invitation(row: Row, arrival: _Arrival) -> Row | None:
    if row["accepted_at"] is None and row["withdrawn_at"] is None:
        row["withdrawn_at"] = arrival.at
    return row


def _push_device(row: Row, arrival: _Arrival) -> Row | None:
    return row | {"endpoint": "", "p256dh": "", "auth": "", "ended_at": row["ended_at"] or arrival.at}


def _delivery(row: Row, arrival: _Arrival) -> Row | None:
    """What was not sent there is not sent from here."""
    if row["sent_at"] is None and row["given_up_at"] is None:
        row["given_up_at"] = arrival.at
    return row


def _pack(row: Row, arrival: _Arrival) -> Row | None:
    if row["finished_at"] is None and row["failed_at"] is None and row["cancelled_at"] is None:
        row |= {"cancelled_at": arrival.at, "claimed_until": None, "stage": ""}
    return row


_SETTLING: dict[str, Callable[[Row, _Arrival], Row | None]] = {
    "premises.Producer": _producer,
    "premises.User": _person,
    "access.Invitation": _invitation,
    "notices.PushDevice": _push_device,
    "notices.Delivery": _delivery,
    "reports.VisitPack": _pack,
}


def _store_papers(parcel: Parcel, arrival: _Arrival) -> None:
    """The files of visit packs, under the names that their rows hold."""
    for _, row in parcel.rows("reports.VisitPack"):
        name = row["file"]
        if row["finished_at"] is None or not name or not parcel.has(f"papers/{name}"):
            continue
        if default_storage.exists(name):
            raise KeepingError(f"The folder of files holds {name} already.")
        with parcel.open(f"papers/{name}") as source:
            stored = default_storage.save(name, File(source))
        arrival.stored.append(stored)
        if stored != name:
            raise KeepingError(f"{name} could not be stored under its name.")


def _verified(parcel: Parcel, rows: int, arrival: _Arrival) -> Brought:
    premises = Premises.objects.select_related("log").filter(pk=parcel.premises_id).first()
    if premises is None or premises.log.key != parcel.log_key:
        raise KeepingError(f"{parcel.path} holds no premises of the id and log that its manifest names.")
    for label in belongings.tables():
        _refuse_strangers(parcel, label, premises)
    report = verify_log(premises.log)
    if not report.holds:
        raise KeepingError(f"The export does not verify. {report.problem} Nothing was imported.")
    if (report.head.size, report.head.root_hex) != (parcel.size, parcel.root):
        raise KeepingError(f"The log of {parcel.name} is not the one that its manifest names. Nothing was imported.")
    return Brought(
        premises=premises,
        rows=rows,
        entries=report.entries,
        public_key=parcel.public_key,
        stand_ins=dict(arrival.stand_ins),
        absent=tuple(str(one) for one in parcel.manifest["absent"]),
    )


def _refuse_strangers(parcel: Parcel, label: str, premises: Premises) -> None:
    """A row of somebody else's premises has no place in an export: it would be written into theirs."""
    if label in belongings.SHARED:
        return
    here = belongings.rows_of(label, premises, {}).count()
    if here != parcel.manifest["tables"][label]["rows"]:
        raise KeepingError(
            f"{shape.rows_file(label)} holds rows that do not belong to {parcel.name}: {here} of "
            f"{parcel.manifest['tables'][label]['rows']} do. Nothing was imported."
        )

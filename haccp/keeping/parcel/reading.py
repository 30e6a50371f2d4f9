"""An archive opened, and held against its own manifest before anything of it is used."""

import hashlib
import json
import zipfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Self

from haccp.keeping.backup import KeepingError
from haccp.keeping.parcel import belongings, shape
from haccp.ledger import signing_key

READ_BYTES = 1024 * 1024


class Parcel:
    """An archive whose every file is the one that its signed manifest names.

    Errors, while it is opened: KeepingError naming the first thing that does not fit.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        try:
            self._archive = zipfile.ZipFile(path)
        except (OSError, zipfile.BadZipFile) as error:
            raise KeepingError(f"{path} is not an export, or was cut short: {error}") from error
        try:
            self._read_manifest()
            self._check_tables()
            self._check_files()
        except (OSError, zipfile.BadZipFile, EOFError, NotImplementedError) as error:
            self._archive.close()
            raise KeepingError(f"{path} cannot be read to its end: {error}") from error
        except BaseException:
            self._archive.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *reason: object) -> None:
        self._archive.close()

    def rows(self, label: str) -> Iterator[tuple[int, dict[str, Any]]]:
        """Number of the line and its row, one line in memory at a time. Errors: KeepingError."""
        name, asked = shape.rows_file(label), set(self.manifest["tables"][label]["columns"])
        attached = shape.ATTACHED.get(label)
        asked -= {attached.column} if attached else set()
        number = 0
        with self._archive.open(name) as lines:
            while line := lines.readline(shape.LONGEST_LINE):
                number += 1
                try:
                    row = json.loads(line)
                except (ValueError, RecursionError) as error:
                    raise KeepingError(f"Line {number} of {name} is not JSON, or too long: {error}") from error
                if not isinstance(row, dict) or row.keys() != asked:
                    raise KeepingError(f"Line {number} of {name} does not have the columns that the manifest names.")
                yield number, row
        told = self.manifest["tables"][label]["rows"]
        if number != told:
            raise KeepingError(f"{name} holds {number} rows, where the manifest counts {told}.")

    def content(self, name: str) -> bytes:
        """Errors: KeepingError for a file that is not there."""
        try:
            return self._archive.read(name)
        except KeyError:
            raise KeepingError(f"{name} is not in {self.path}.") from None

    def has(self, name: str) -> bool:
        return name in self.manifest["files"]

    def open(self, name: str) -> Any:
        return self._archive.open(name)

    def _read_manifest(self) -> None:
        for name in (shape.MANIFEST, shape.SIGNATURE):
            if name not in self._archive.namelist():
                raise KeepingError(f"{self.path} is not an export of a premises: it holds no {name}.")
            if self._archive.getinfo(name).file_size > shape.LARGEST_MANIFEST:
                raise KeepingError(f"{name} of {self.path} is larger than any manifest.")
        content = self._archive.read(shape.MANIFEST)
        try:
            manifest = json.loads(content)
        except (ValueError, RecursionError) as error:
            raise KeepingError(f"{shape.MANIFEST} is not JSON: {error}") from error
        if not isinstance(manifest, dict) or manifest.get("format") != shape.FORMAT:
            raise KeepingError(f"{self.path} is not an export of this service: its format is not {shape.FORMAT}.")
        try:
            self.public_key = str(manifest["public_key"])
            self.premises_id, self.name = str(manifest["premises"]["id"]), str(manifest["premises"]["name"])
            self.log_key, self.size = str(manifest["log"]["key"]), int(manifest["log"]["size"])
            self.root = str(manifest["log"]["root"])
            dict(manifest["tables"]), dict(manifest["files"]), list(manifest["absent"])
        except (KeyError, TypeError, ValueError) as error:
            raise KeepingError(f"{shape.MANIFEST} is not complete: {error}") from error
        signature = self._archive.read(shape.SIGNATURE).decode("ascii", "replace").strip()
        if not signing_key.fits(public_key=self.public_key, message=shape.PURPOSE + content, signature=signature):
            raise KeepingError(f"{shape.MANIFEST} was changed: its signature does not hold.")
        self.manifest = manifest

    def _check_tables(self) -> None:
        """The same tables and columns as here: an archive of another version is for that version."""
        theirs, ours = self.manifest["tables"], set(belongings.tables())
        for label in sorted(ours ^ theirs.keys()):
            where = "this version does not know" if label in theirs else "it lacks"
            raise KeepingError(f"{self.path} was made by another version: the table {label}, which {where}.")
        for label in sorted(ours):
            columns = {field.attname for field in belongings.columns_of(belongings.model_of(label))}
            columns -= belongings.BLANKED.get(label, frozenset())
            for column in sorted(columns ^ set(theirs[label]["columns"])):
                raise KeepingError(
                    f"{self.path} was made by another version: {label} differs in the column {column}. Bring it in with"
                    " the version that made it, and bring that installation up to date."
                )

    def _check_files(self) -> None:
        """Every file is there, once, and is the one that the manifest names."""
        told: dict[str, Any] = self.manifest["files"]
        names = self._archive.namelist()
        for name, times in Counter(names).items():
            if times > 1:
                raise KeepingError(f"{name} is in {self.path} twice.")
        for name in sorted(set(names) - told.keys() - {shape.MANIFEST, shape.SIGNATURE}):
            raise KeepingError(f"{name} is in {self.path}, but its manifest does not name it.")
        for name in sorted(told.keys() - set(names)):
            raise KeepingError(f"{name} is missing from {self.path}.")
        for label in belongings.tables():
            if shape.rows_file(label) not in told:
                raise KeepingError(f"{shape.rows_file(label)} is missing from {self.path}.")
        for name in sorted(told):
            self._check_file(name, told[name])

    def _check_file(self, name: str, told: dict[str, Any]) -> None:
        digest, left = hashlib.sha256(), int(told["bytes"])
        with self._archive.open(name) as source:
            while data := source.read(READ_BYTES):
                digest.update(data)
                left -= len(data)
                if left < 0:
                    break
        if left or digest.hexdigest() != told["sha256"]:
            raise KeepingError(f"{name} is not the file that was exported: its sum differs from the manifest's.")

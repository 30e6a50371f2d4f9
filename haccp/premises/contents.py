"""What an attached file really is, told from its bytes and never from its name.

Formats are recognised by puremagic; pictures are opened by Pillow and workbooks as the archives that they are, since a
few bytes at the beginning are soon forged. What a browser or a computer would run is refused under any name.
"""

import io
import zipfile
from dataclasses import dataclass

import puremagic
from PIL import Image

from haccp.premises.errors import ActionError

MOST_PIXELS = 80_000_000
MOST_FILES_IN_ARCHIVE = 5_000
_ASK_FOR = "Send a picture, a PDF, a text, a table or an office document, or a short film."


@dataclass(frozen=True, slots=True)
class Kind:
    """words: “a picture”. types: media types as recognised. endings: of names that such a file may have."""

    words: str
    types: frozenset[str]
    endings: frozenset[str]


PICTURE = Kind(
    "a picture",
    frozenset({"image/jpeg", "image/png", "image/webp", "image/gif", "image/tiff"}),
    frozenset({"jpg", "jpeg", "jpe", "jfif", "png", "webp", "gif", "tif", "tiff", "heic", "heif"}),
)
TELEPHONE_PICTURE = Kind("a picture", frozenset({"image/heif", "image/heic"}), PICTURE.endings)
PDF = Kind("a PDF", frozenset({"application/pdf"}), frozenset({"pdf"}))
OFFICE = Kind(
    "an office document",
    frozenset(),
    frozenset({"docx", "xlsx", "pptx", "odt", "ods", "odp", "doc", "xls", "ppt", "msg", "rtf"}),
)
FILM = Kind(
    "a film or a recording",
    frozenset({"video/mp4", "video/quicktime", "video/3gpp", "audio/mpeg", "audio/mp4", "audio/x-m4a", "audio/wav"}),
    frozenset({"mp4", "mov", "3gp", "m4a", "mp3", "wav"}),
)
TEXT = Kind(
    "a text", frozenset(), frozenset({"txt", "csv", "tsv", "tab", "log", "md", "json", "jsonl", "eml", "ics", "dat"})
)
KINDS = (PICTURE, TELEPHONE_PICTURE, PDF, OFFICE, FILM, TEXT)

_OLD_OFFICE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
# What is run rather than read, told by how it begins.
_RUN = (b"<!doctype", b"<html", b"<head", b"<body", b"<script", b"<svg", b"<?xml", b"#!", b"mz", b"\x7felf", b"<?php")
_CONTROLS = bytes(one for one in range(0x20) if one not in b"\t\n\r\x0c\x1a")


def kind_of(data: bytes) -> Kind | None:
    """None for what is not taken: programs, web pages, archives, and what is none of the kinds."""
    start = data[:512].removeprefix(b"\xef\xbb\xbf").lstrip().lower()
    if start.startswith(_RUN) or b"<script" in start or b"<svg" in start:
        return None
    if data.startswith(b"PK"):
        return OFFICE if _is_office_archive(data) else None
    if data.startswith((_OLD_OFFICE, b"{\\rtf")):
        return OFFICE
    types = _recognised(data)
    if types & PICTURE.types:
        return PICTURE if _opens_as_picture(data) else None
    if data.startswith(b"%PDF-"):
        return PDF
    for kind in (TELEPHONE_PICTURE, FILM):
        if types & kind.types:
            return kind
    return TEXT if _is_text(data) else None


def refuse_disguised(data: bytes, filename: str, *, field: str = "file") -> Kind:
    """The kind of a file to be attached. Raises ActionError for what is not taken, or is not what its name says."""
    kind = kind_of(data)
    if kind is None:
        raise ActionError(
            f"“{filename}” cannot be kept: by its content it is none of the kinds taken. {_ASK_FOR}", field=field
        )
    _, dot, ending = filename.rpartition(".")
    if dot and ending.lower() not in kind.endings:
        raise ActionError(
            f"“{filename}” is not what its name says: by its content it is {kind.words}. Choose the right file, or "
            "give it the ending of what it is.",
            field=field,
        )
    return kind


def _recognised(data: bytes) -> frozenset[str]:
    try:
        return frozenset(found.mime_type for found in puremagic.magic_string(data))
    except (puremagic.PureError, ValueError):
        return frozenset()


def _opens_as_picture(data: bytes) -> bool:
    try:
        with Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP", "GIF", "TIFF")) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                return False
            picture.draft("L", (64, 64))  # a JPEG is decoded at an eighth of its size; others have sums of their own
            if picture.format == "JPEG":
                picture.load()
            else:
                picture.verify()
    except (OSError, ValueError, SyntaxError, EOFError, Image.DecompressionBombError):
        return False
    return True


def _is_office_archive(data: bytes) -> bool:
    """Only the list of the archive's files is read, and at most the few bytes that say what it is."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            names = archive.namelist()
            if len(names) > MOST_FILES_IN_ARCHIVE or any(name.endswith("vbaProject.bin") for name in names):
                return False
            if "[Content_Types].xml" in names:
                return any(name.startswith(("word/", "xl/", "ppt/")) for name in names)
            with archive.open("mimetype") as said:
                return said.read(100).startswith(b"application/vnd.oasis.opendocument.")
    except (OSError, ValueError, KeyError, EOFError, NotImplementedError, RuntimeError, zipfile.BadZipFile):
        return False


def _is_text(data: bytes) -> bool:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            data = data.decode("utf-16").encode()
        except UnicodeDecodeError:
            return False
    return len(data.translate(None, _CONTROLS)) == len(data)

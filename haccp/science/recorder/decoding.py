"""From the bytes of a file to clean UTF-8 text with plain line ends, or a sentence that says what the file is."""

from dataclasses import dataclass

import numpy as np

from haccp.science.recorder import messages

MAX_LINE = 10_000

_MAGIC = (
    (b"PK\x03\x04", "a spreadsheet workbook (.xlsx) or a zip archive"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet workbook (.xls)"),
    (b"%PDF", "a PDF document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"\x1f\x8b", "a compressed archive"),
    (b"7z\xbc\xaf", "a compressed archive"),
    (b"SQLite format 3", "a database"),
    (b"<!DOCTYPE", "a web page"),
    (b"<html", "a web page"),
    (b"<?xml", "an XML document"),
    (b"{\\rtf", "a word-processor document"),
)
_MARK = b"\xef\xbb\xbf"
_BINARY = "a program's own binary format"
_CONTROLS = bytes(byte for byte in range(32) if byte not in b"\t\n\r\x0b\x0c") + b"\x7f"
# Spaces that some programs put before am/pm or between thousands, and the typographic minus.
_PLAIN = ((b"\xc2\xa0", b" "), (b"\xe2\x80\xaf", b" "), (b"\xe2\x88\x92", b"-"))


@dataclass(frozen=True, slots=True)
class Content:
    """text: UTF-8 with LF line ends, no byte-order mark. encoding: what the file was written in."""

    text: bytes
    encoding: str


def refuse_oversize(size: int, *, filename: str, max_bytes: int) -> None:
    """Raise InputError when a file of `size` bytes is too large; callers can ask before they read an upload."""
    if size > max_bytes:
        raise messages.too_large(filename, size, max_bytes)


def decode(data: bytes, *, filename: str) -> Content:
    """Raise InputError for an empty or binary file and for a line of more than MAX_LINE bytes."""
    if not data.strip(b"\x00 \t\r\n\xef\xbb\xbf\xff\xfe\x1a"):
        raise messages.empty(filename)
    for magic, looks_like in _MAGIC:
        if data[:16].lstrip().startswith(magic):
            raise messages.not_text(filename, looks_like)
    text, encoding = _to_utf8(data, filename)
    text = text.rstrip(b"\x1a")
    if len(text.translate(None, delete=_CONTROLS)) != len(text):
        raise messages.not_text(filename, _BINARY)
    if b"\r" in text:
        text = text.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if not text.isascii():
        for odd, plain in _PLAIN:
            text = text.replace(odd, plain)
    _refuse_long_lines(text)
    return Content(text, encoding)


def _to_utf8(data: bytes, filename: str) -> tuple[bytes, str]:
    wide = _utf16_order(data)
    if wide:
        # A file cut in the middle of a character loses that character only; its line is looked at later.
        even = data[: len(data) // 2 * 2]
        try:
            return even.decode(wide).removeprefix("\ufeff").encode(), "utf-16"
        except UnicodeError:
            raise messages.not_text(filename, _BINARY) from None
    encoding = "utf-8-sig" if data.startswith(_MARK) else "utf-8"
    data = data.removeprefix(_MARK)
    if data.isascii():
        return data, encoding
    try:
        data.decode()
    except UnicodeDecodeError as error:
        if error.reason == "unexpected end of data":
            return data[: error.start], encoding
        return _one_byte(data)
    return data, encoding


def _one_byte(data: bytes) -> tuple[bytes, str]:
    try:
        return data.decode("cp1252").encode(), "cp1252"
    except UnicodeDecodeError:
        return data.decode("latin-1").encode(), "latin-1"


def _utf16_order(data: bytes) -> str | None:
    if data.startswith(b"\xff\xfe"):
        return "utf-16-le"
    if data.startswith(b"\xfe\xff"):
        return "utf-16-be"
    # Latin text in UTF-16 without its mark: every other byte is NUL.
    head = data[:2000]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    if min(even, odd) == 0 and max(even, odd) > 0.3 * len(head):
        return "utf-16-be" if even else "utf-16-le"
    return None


def _refuse_long_lines(text: bytes) -> None:
    ends = np.flatnonzero(np.frombuffer(text + b"\n", dtype=np.uint8) == ord("\n"))
    lengths = np.diff(ends, prepend=-1) - 1
    too_long = np.flatnonzero(lengths > MAX_LINE)
    if too_long.size:
        raise messages.line_too_long(int(too_long[0]) + 1, int(lengths[too_long[0]]), MAX_LINE)

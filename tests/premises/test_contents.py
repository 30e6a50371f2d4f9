"""Attached files are what their bytes say. Formats are written by the libraries that own them, not by hand."""

import io
import zipfile

import openpyxl
import pytest
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from haccp.premises import contents
from haccp.premises.contents import FILM, OFFICE, PDF, PICTURE, TELEPHONE_PICTURE, TEXT, Kind, kind_of, refuse_disguised
from haccp.premises.errors import ActionError


def picture(kind: str) -> bytes:
    made = io.BytesIO()
    Image.new("RGB", (60, 40), "orange").save(made, kind)
    return made.getvalue()


def pdf() -> bytes:
    made = io.BytesIO()
    canvas = Canvas(made)
    canvas.drawString(100, 100, "Result 17")
    canvas.save()
    return made.getvalue()


def workbook() -> bytes:
    made = io.BytesIO()
    openpyxl.Workbook().save(made)
    return made.getvalue()


def archive(**files: bytes) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as written:
        for name, content in files.items():
            written.writestr(name.replace("__", "/").replace("_DOT_", "."), content)
    return made.getvalue()


# ISO/IEC 14496-12, section 4.3: a file begins with its length, "ftyp" and the brand; brand "heic" is ISO/IEC 23008-12.
HEIC = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(64)
MP4 = b"\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00mp42isom" + bytes(64)


@pytest.mark.parametrize(
    ("data", "kind"),
    [
        *((picture(kind), PICTURE) for kind in ("JPEG", "PNG", "WEBP", "GIF", "TIFF")),
        (HEIC, TELEPHONE_PICTURE),
        (pdf(), PDF),
        (workbook(), OFFICE),
        (archive(mimetype=b"application/vnd.oasis.opendocument.text", content_DOT_xml=b"<x/>"), OFFICE),
        (MP4, FILM),
        ("The room was at 11 °C.\r\n".encode(), TEXT),
        ("Raum 2: 11 °C".encode("latin-1"), TEXT),
        ("time;temperature\n09:00;11,5\n".encode("utf-16"), TEXT),
        (b'{"value": 11.5}', TEXT),
        (b"From: lab@example.org\nSubject: Result 17\n\nNothing found.", TEXT),
    ],
)
def test_what_is_taken(data: bytes, kind: Kind) -> None:
    assert kind_of(data) is kind
    assert refuse_disguised(data, "without an ending") is kind


@pytest.mark.parametrize(
    "data",
    [
        b"<!DOCTYPE html><html><script>alert(1)</script></html>",
        b"\xef\xbb\xbf\r\n  <HTML><body onload=alert(1)>",
        b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
        b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>',
        b"hello <script>alert(1)</script>",
        b"#!/bin/sh\nrm -rf /\n",
        b"MZ\x90\x00\x03\x00\x00\x00" + bytes(200),
        b"\x7fELF\x02\x01\x01" + bytes(200),
        b"GIF89a/*\x00\x00\x00\x00*/=1;alert(1)//",  # a script that begins as a picture
        picture("JPEG")[:200],
        picture("PNG").replace(b"IDAT", b"IDAX"),
        bytes(range(256)),
        archive(readme=b"a plain archive"),
        archive(**{"[Content_Types]_DOT_xml": b"<Types/>", "word__vbaProject_DOT_bin": b"macro"}),
        archive(mimetype=b"application/java-archive"),
        b"PK\x03\x04 not an archive at all",
        b"\xff\xfe\x00\xd8\x00\xd8",
    ],
)
def test_what_would_be_run_or_is_broken_is_not(data: bytes) -> None:
    assert kind_of(data) is None
    for name in ("shelf.jpg", "report.pdf", "note.txt", "nothing"):
        with pytest.raises(ActionError, match="by its content it is none of the kinds taken") as refused:
            refuse_disguised(data, name)
        assert refused.value.fields.keys() == {"file"}


@pytest.mark.parametrize(
    ("data", "name", "seems"),
    [
        (picture("JPEG"), "report.pdf", "a picture"),
        (pdf(), "shelf.jpg", "a PDF"),
        (b"alert(1)", "harmless.js", "a text"),
        (b"@echo off", "open.bat", "a text"),
        (b"plain", "page.html", "a text"),
        (workbook(), "table.csv", "an office document"),
        (picture("PNG"), "picture.svg", "a picture"),
    ],
)
def test_a_name_that_says_otherwise_is_refused(data: bytes, name: str, seems: str) -> None:
    with pytest.raises(ActionError, match=f"by its content it is {seems}"):
        refuse_disguised(data, name)


def test_a_picture_under_the_ending_of_another_kind_of_picture_is_taken() -> None:
    assert refuse_disguised(picture("JPEG"), "IMG_0417.PNG") is PICTURE


def test_a_picture_that_would_unfold_to_more_than_the_memory_is_not_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(contents, "MOST_PIXELS", 60 * 40 - 1)
    assert kind_of(picture("PNG")) is None

"""Text made printable: what the embedded typefaces cannot show is shown as a box, never left out in silence."""

import re
import unicodedata
from functools import lru_cache
from html import escape
from typing import Any

from reportlab.pdfbase import pdfmetrics

from haccp.drawing.typeface import REGULAR, register_typeface

REPLACEMENT = "□"
KEPT_CONTROLS = "\n"


# How many of the typeface's fallbacks are asked: the large East Asian one only for what the others lack.
NEAR, ALL = 1, 2


@lru_cache(maxsize=2)
def _unprintable(fallbacks: int) -> re.Pattern[str]:
    """Matches every character without a glyph in the typeface and so many of its fallbacks."""
    register_typeface()
    font: Any = pdfmetrics.getFont(REGULAR)
    covered = sorted(font.covered(fallbacks))
    ranges: list[list[int]] = []
    for code in covered:
        if unicodedata.category(chr(code)) in ("Cc", "Cf"):
            continue
        if ranges and ranges[-1][1] == code - 1:
            ranges[-1][1] = code
        else:
            ranges.append([code, code])
    inside = "".join(f"{re.escape(chr(first))}-{re.escape(chr(last))}" for first, last in ranges)
    return re.compile(f"[^{inside}{KEPT_CONTROLS}]")


def _shown(match: re.Match[str]) -> str:
    category = unicodedata.category(match[0])
    if category == "Cf":  # joiners and marks of direction have no ink of their own
        return ""
    return " " if category in ("Cc", "Zs", "Zl", "Zp") else REPLACEMENT


def printable(text: str) -> str:
    """The text in composed form (NFC), with a box for each character that the typefaces lack."""
    if text.isascii() and text.isprintable():
        return text
    unified = unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\r", "\n"))
    if not _unprintable(NEAR).search(unified):
        return unified
    return _unprintable(ALL).sub(_shown, unified)


def markup(text: str) -> str:
    """Somebody's text, safe inside a Paragraph: nothing in it is read as markup; its line breaks are kept."""
    return escape(printable(text), quote=False).replace("\n", "<br/>")

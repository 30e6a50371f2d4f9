"""Text made printable: what the embedded typeface cannot show is shown as a box, never left out in silence."""

import re
import unicodedata
from functools import lru_cache
from html import escape
from typing import Any

from reportlab.pdfbase import pdfmetrics

from haccp.drawing.typeface import REGULAR, register_typeface

REPLACEMENT = "□"
KEPT_CONTROLS = "\n"


@lru_cache(maxsize=1)
def _unprintable() -> re.Pattern[str]:
    """Matches every character without a glyph."""
    register_typeface()
    font: Any = pdfmetrics.getFont(REGULAR)
    covered = sorted(font.face.charToGlyph)
    ranges: list[list[int]] = []
    for code in covered:
        if code < 32 or 0x7F <= code < 0xA0:
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
    """The text in composed form (NFC), with a box for each character that the typeface lacks."""
    if text.isascii() and text.isprintable():
        return text
    unified = unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\r", "\n"))
    return _unprintable().sub(_shown, unified)


def markup(text: str) -> str:
    """Somebody's text, safe inside a Paragraph: nothing in it is read as markup; its line breaks are kept."""
    return escape(printable(text), quote=False).replace("\n", "<br/>")

"""Colours and type of a pack. Everything stays legible on a black-and-white printer: colour only repeats words."""

from typing import Any

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.enums import TA_LEFT
from reportlab.lib.styles import ParagraphStyle

from haccp.drawing.typeface import BOLD, ITALIC, REGULAR, register_typeface

register_typeface()

INK: Color = HexColor("#23201c")
QUIET: Color = HexColor("#5d564d")
ACCENT: Color = HexColor("#0f5257")
BAD: Color = HexColor("#8f2417")
RULE: Color = HexColor("#cfc8bb")
HEAD_TINT: Color = HexColor("#ece7dc")
BAD_TINT: Color = HexColor("#f7ebe6")
PANEL: Color = HexColor("#f6f3ec")


def _style(name: str, size: float, leading: float, **more: Any) -> ParagraphStyle:
    settings: dict[str, Any] = {"fontName": REGULAR, "textColor": INK, "alignment": TA_LEFT} | more
    return ParagraphStyle(name, fontSize=size, leading=leading, splitLongWords=1, **settings)


BODY = _style("body", 9.5, 13, spaceAfter=4)
SMALL = _style("small", 8.2, 11, spaceAfter=3)
SMALL_QUIET = _style("small quiet", 8.2, 11, spaceAfter=3, textColor=QUIET)
STRONG = _style("strong", 9.5, 13, fontName=BOLD, spaceAfter=2)
QUOTE = _style("quote", 9.5, 13, fontName=ITALIC, leftIndent=10, spaceAfter=4)
HEADINGS = (
    _style("section", 17, 21, fontName=BOLD, textColor=ACCENT, spaceBefore=16, spaceAfter=6),
    _style("part", 12.5, 16, fontName=BOLD, spaceBefore=12, spaceAfter=4),
    _style("detail", 10.5, 14, fontName=BOLD, spaceBefore=8, spaceAfter=2),
)
COVER_TITLE = _style("cover title", 30, 36, fontName=BOLD, textColor=ACCENT, spaceAfter=4)
DOCUMENT_TITLE = _style("document title", 20, 25, fontName=BOLD, textColor=ACCENT, spaceAfter=2)
COVER_NAME = _style("cover name", 19, 24, fontName=BOLD, spaceAfter=4)
COVER_LINE = _style("cover line", 11, 15, spaceAfter=2)

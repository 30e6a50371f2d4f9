"""The typeface of pages and papers, its files, and how wide its words are."""

from functools import lru_cache
from pathlib import Path

from reportlab.pdfbase import pdfmetrics

from haccp.drawing.fallback_font import FallbackFont

FONTS = Path(__file__).resolve().parent.parent / "static" / "vendor" / "fonts"
FOLDER = FONTS / "source-sans-3"

REGULAR, BOLD = "SourceSans3", "SourceSans3-Bold"
ITALIC, BOLD_ITALIC = "SourceSans3-Italic", "SourceSans3-BoldItalic"
FILES = {
    REGULAR: "SourceSans3-Regular.ttf",
    BOLD: "SourceSans3-Bold.ttf",
    ITALIC: "SourceSans3-It.ttf",
    BOLD_ITALIC: "SourceSans3-BoldIt.ttf",
}

# Asked for what Source Sans 3 lacks: Arabic, Hebrew, Armenian and Georgian; then Chinese, Japanese and Korean.
MORE_SCRIPTS, MORE_SCRIPTS_BOLD, EAST_ASIAN = "DejaVuSans", "DejaVuSans-Bold", "DroidSansFallback"
OTHER_FILES = {
    MORE_SCRIPTS: FONTS / "dejavu-sans" / "DejaVuSans.ttf",
    MORE_SCRIPTS_BOLD: FONTS / "dejavu-sans" / "DejaVuSans-Bold.ttf",
    EAST_ASIAN: FONTS / "droid-sans-fallback" / "DroidSansFallback.ttf",
}

# A page whose web font has not arrived shows a system face, mostly a little wider than ours.
ROOM_FOR_A_FALLBACK_FACE = 1.06


@lru_cache(maxsize=1)
def register_typeface() -> None:
    """Make the four fonts known to ReportLab under REGULAR, BOLD, ITALIC and BOLD_ITALIC, as one family."""
    for name, file in FILES.items():
        is_bold = name in (BOLD, BOLD_ITALIC)
        others = tuple((one, OTHER_FILES[one]) for one in (MORE_SCRIPTS_BOLD if is_bold else MORE_SCRIPTS, EAST_ASIAN))
        pdfmetrics.registerFont(FallbackFont(name, str(FOLDER / file), others))
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=ITALIC, boldItalic=BOLD_ITALIC)


@lru_cache(maxsize=4096)
def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Room that a line of text needs, in the unit of size."""
    register_typeface()
    width: float = pdfmetrics.stringWidth(text, BOLD if bold else REGULAR, size)
    return width * ROOM_FOR_A_FALLBACK_FACE


def wrap(text: str, size: float, width: float, *, bold: bool = False) -> list[str]:
    """Lines of whole words no wider than width where the words allow it; at least one line."""
    lines: list[str] = []
    for word in text.split():
        if lines and text_width(f"{lines[-1]} {word}", size, bold=bold) <= width:
            lines[-1] = f"{lines[-1]} {word}"
        else:
            lines.append(word)
    return lines or [""]

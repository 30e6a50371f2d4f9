"""Text cut into lines that fit a width, whatever somebody typed."""

from functools import lru_cache

from reportlab.pdfbase.pdfmetrics import stringWidth

from haccp.reports.draw.glyphs import printable


@lru_cache(maxsize=20_000)
def lines(text: str, font: str, size: float, width: float) -> tuple[str, ...]:
    """Lines no wider than width (points). Words that are too long for a line are cut. At least one line."""
    found: list[str] = []
    for paragraph in printable(text).split("\n"):
        if stringWidth(paragraph, font, size) <= width:
            found.append(paragraph)
        else:
            found.extend(_wrapped(paragraph, font, size, width))
    return tuple(found)


def _wrapped(paragraph: str, font: str, size: float, width: float) -> list[str]:
    found: list[str] = []
    line, used = "", 0.0
    space = stringWidth(" ", font, size)
    for word in paragraph.split(" "):
        length = stringWidth(word, font, size)
        if line and used + space + length <= width:
            line, used = f"{line} {word}", used + space + length
            continue
        if line:
            found.append(line)
        *full, line = _cut(word, font, size, width) if length > width else [word]
        found.extend(full)
        used = stringWidth(line, font, size)
    return [*found, line]


def _cut(word: str, font: str, size: float, width: float) -> list[str]:
    pieces, piece, used = [], "", 0.0
    for letter in word:
        step = stringWidth(letter, font, size)
        if piece and used + step > width:
            pieces.append(piece)
            piece, used = "", 0.0
        piece, used = piece + letter, used + step
    return [*pieces, piece]

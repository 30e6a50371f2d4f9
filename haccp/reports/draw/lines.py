"""Text cut into lines that fit a width, whatever somebody typed."""

from collections.abc import Iterator
from functools import lru_cache

from reportlab.pdfbase.pdfmetrics import stringWidth

from haccp.drawing.scripts import direction, in_ink_order, joined
from haccp.reports.draw.glyphs import printable


@lru_cache(maxsize=20_000)
def lines(text: str, font: str, size: float, width: float) -> tuple[str, ...]:
    """Lines no wider than width (points), ready to be drawn from left to right. At least one line.

    Words that are too long for a line are cut, and text without spaces between its words (Chinese, Japanese) too.
    """
    return tuple(in_ink_order(line, base) for line, base in _broken(text, font, size, width))


def lines_as_read(text: str, font: str, size: float, width: float) -> tuple[str, ...]:
    """The same lines in the order of reading, for text that goes on elsewhere."""
    return tuple(line for line, _ in _broken(text, font, size, width))


def _broken(text: str, font: str, size: float, width: float) -> Iterator[tuple[str, str]]:
    """Each line, and the direction of its paragraph."""
    for paragraph in printable(text).split("\n"):
        shaped, base = joined(paragraph), direction(paragraph)
        if stringWidth(shaped, font, size) <= width:
            yield shaped, base
        else:
            yield from ((line, base) for line in _wrapped(shaped, font, size, width))


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

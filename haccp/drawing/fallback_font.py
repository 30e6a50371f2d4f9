"""A font for ReportLab that asks others for the letters that it lacks."""

from pathlib import Path
from typing import Any

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont


class FallbackFont(TTFont):
    """Every way of drawing text asks a font to split it into subsets: here the others' subsets are among them.

    others: names of fonts and their files, asked in their order; each is read when it is first asked. What none of
    them has falls to this font's own box.
    """

    def __init__(self, name: str, filename: str, others: tuple[tuple[str, Path], ...]) -> None:
        super().__init__(name, filename, shapable=False)
        self.others = dict(others)

    def covered(self, others: int) -> set[int]:
        """Codes that this font and so many of the others can show."""
        found = set(self.face.charToGlyph)
        for name in list(self.others)[:others]:
            found |= set(self._font(name).face.charToGlyph)
        return found

    def stringWidth(self, text: Any, size: float, encoding: str = "utf8") -> float:  # noqa: N802  (ReportLab's name)
        words = text if isinstance(text, str) else text.decode(encoding)
        if words.isascii():
            return float(super().stringWidth(words, size))
        width = 0.0
        for name, run in self._runs(words):
            width += (
                float(super().stringWidth(run, size))
                if name is None
                else float(self._font(name).stringWidth(run, size))
            )
        return width

    def splitString(self, text: Any, doc: Any, encoding: str = "utf-8") -> list[tuple[Any, bytes]]:  # noqa: N802
        words = text if isinstance(text, str) else text.decode(encoding)
        if words.isascii():
            return list(super().splitString(words, doc))
        found: list[tuple[Any, bytes]] = []
        for name, run in self._runs(words):
            if name is None:
                found += super().splitString(run, doc)
            else:
                found += [((name, subset), content) for subset, content in self._font(name).splitString(run, doc)]
        return found

    def getSubsetInternalName(self, subset: Any, doc: Any) -> str:  # noqa: N802
        if isinstance(subset, tuple):
            name, theirs = subset
            return str(self._font(name).getSubsetInternalName(theirs, doc))
        return str(super().getSubsetInternalName(subset, doc))

    def _other(self, code: int) -> str | None:
        for name in self.others:
            if code in self._font(name).face.charToGlyph:
                return name
        return None

    def _runs(self, text: str) -> list[tuple[str | None, str]]:
        """(name of another font or None for this one, letters that it draws)."""
        found: list[tuple[str | None, str]] = []
        own = self.face.charToGlyph
        for letter in text:
            code = ord(letter)
            name = None if code in own or code < 32 else self._other(code)
            if found and found[-1][0] == name:
                found[-1] = (name, found[-1][1] + letter)
            else:
                found.append((name, letter))
        return found

    def _font(self, name: str) -> Any:
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, self.others[name], shapable=False))
        return pdfmetrics.getFont(name)
